#pragma once
/// @file
/// Which equivalent circuit do a transformer's no-load readings stand for?

#include "core/rig.hpp"

namespace firstglow::netlists {

/// Equivalent circuit of the core, all figures referred to the whole primary.
struct TransformerCore {
  double primary_v = 0.0;      ///< rms volts applied when the rest was measured
  double primary_ohm = 0.0;    ///< DC ohms of the whole primary
  double emf_v = 0.0;          ///< rms volts left after the drop of the no-load current
  double loss_ohm = 0.0;       ///< core loss, across the emf
  double magnetising_h = 0.0;  ///< across the emf
};

/// Model: no-load current I0 and watts P0 at the primary volts V, primary ohms R:
///
///     P_core = P0 - I0^2 R,   Q = sqrt((V I0)^2 - P0^2),
///     E^2 = (V - R P0/V)^2 + (R Q/V)^2,
///     loss_ohm = E^2 / P_core,   magnetising_h = E^2 / (2 pi f Q).
///
/// The secondaries' stated volts belong to the emf E, so each ratio is stated volts over E.
/// Left out: saturation (linear core; the true no-load current above the stated volts and the
/// true first-cycle peak are higher: errs to the UNSAFE side) and leakage inductance (the true
/// rectifier peaks are lower: safe side).
///
/// @throws ContractError when the readings contradict each other or are missing.
/// Source: the open-circuit test of every text on transformers; derivation in
/// docs/methods/transformer.md.
[[nodiscard]] TransformerCore transformer_core(const core::PowerTransformer& transformer,
                                               core::Hertz frequency);

/// Are no-load volts, amps and watts possible together with the primary's ohms?
[[nodiscard]] bool no_load_possible(const core::PowerTransformer& transformer);

}  // namespace firstglow::netlists
