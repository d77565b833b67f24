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
/// The readings are those at no_load_frequency where the record gives one, else at `frequency`.
/// Left out: saturation (see saturating_core()) and leakage inductance (the true rectifier peaks
/// are lower: safe side).
///
/// @throws ContractError when the readings contradict each other or are missing.
/// Source: the open-circuit test of every text on transformers; derivation in
/// docs/methods/transformer.md.
[[nodiscard]] TransformerCore transformer_core(const core::PowerTransformer& transformer,
                                               core::Hertz frequency);

/// The core with its knee, all figures referred to the whole primary.
struct SaturatingCore {
  double rated_flux_vs = 0.0;  ///< peak flux at the stated primary volts
  double unsaturated_h = 0.0;  ///< slope below the knee
  double knee_vs = 0.0;
  double width_vs = 0.0;
  double air_h = 0.0;          ///< slope beyond the knee
  bool knee_measured = false;  ///< from a second no-load reading, not a default

  /// Magnetising amps, rms, on a sine whose flux has this peak.
  [[nodiscard]] double magnetising_rms_a(double peak_flux_vs) const;
};

/// Largest flux a core can be left with, over its peak flux at the stated volts (from memory: 0.4
/// to 0.8 are usual for stacked cores; the upper end, so that switch-on currents come out high).
inline constexpr double kLargestRemanence = 0.8;

/// Model: the magnetising current follows coil_amps() of a SaturatingCoilElement.
///
/// * rated_flux_vs = sqrt(2) E / (2 pi f).
/// * Knee: with a second no-load reading V2, I2 the knee is where the model's rms current on V2
///   meets I2 (core loss taken off at right angles); unsaturated_h then follows from the first
///   reading. Without one the knee lies at 1.2 times the rated flux: small transformers are made
///   for 1.2 to 1.7 T and iron is full at about 2.0 T (from memory), and the nearest of these
///   gives the highest current.
/// * air_h = 5 % of the rated impedance, V / (I 2 pi f): what a winding of usual shape has left
///   without iron (from memory, 5 to 15 %); low, so that the current comes out high.
/// * width: 2.5 % of the knee, a rounded corner that the first reading hardly sees.
///
/// Left out: hysteresis, the iron's little further permeability beyond the knee.
/// @throws ContractError as transformer_core().
/// Source: docs/methods/core_saturation.md.
[[nodiscard]] SaturatingCore saturating_core(const core::PowerTransformer& transformer,
                                             core::Hertz frequency);

/// Ohms of copper after a rise from 20 C: 1 + rise / (234.5 + 20) [IEC-61558-1].
[[nodiscard]] double copper_factor(double rise_k);

/// Are no-load volts, amps and watts possible together with the primary's ohms?
[[nodiscard]] bool no_load_possible(const core::PowerTransformer& transformer);

}  // namespace firstglow::netlists
