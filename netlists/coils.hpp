#pragma once
/// @file
/// Which current flows in a coil with iron at a given flux?

#include "core/rig.hpp"
#include "netlists/deck.hpp"

namespace firstglow::netlists {

/// Current a -> b [A] of a coil whose iron saturates at `flux_vs` [Vs].
///
/// Model: with s(u) = ln(1 + exp u), a corner rounded over about one unit,
///
///     i = flux / L0 + (1/Lair - 1/L0) w [ s((flux - knee)/w) - s((-flux - knee)/w) ],
///
/// so slope 1/L0 below the knee and 1/Lair beyond it. Odd in the flux, strictly rising.
/// Left out: hysteresis (the core loss stands beside it as a resistance) and the small further
/// permeability of iron beyond its knee, which would lower the current: safe side.
/// Source: two straight lines joined; docs/methods/core_saturation.md.
[[nodiscard]] double coil_amps(const SaturatingCoilElement& coil, double flux_vs);

/// Current a -> b [A] of a coil that swings: i = scale_a sinh(flux / scale_vs), so that its
/// inductance is L(i) = scale_vs / sqrt(scale_a^2 + i^2).
[[nodiscard]] double coil_amps(const SinhCoilElement& coil, double flux_vs);

/// The law of a choke through its two points: scale_a, scale_vs.
struct SwingLaw {
  double scale_a = 0.0;
  double scale_vs = 0.0;

  /// Inductance for small changes about `amps` of DC [H].
  [[nodiscard]] double henry_at(double amps) const;
  /// The largest inductance, at no current [H].
  [[nodiscard]] double henry_at_rest() const { return scale_vs / scale_a; }
};

[[nodiscard]] bool swings(const core::Choke& choke);

/// Model: L1 at I1 and L2 at I2 with L1 > L2 and L2 I2 > L1 I1 fix the two numbers,
///
///     scale_a^2 = ((L2 I2)^2 - (L1 I1)^2) / (L1^2 - L2^2),   scale_vs = L1 sqrt(scale_a^2 + I1^2).
///
/// @param henry  inductance at value_current, at the tolerance corner; the second point moves in
///               proportion.
/// @throws ContractError when the choke has no second point or an impossible one.
[[nodiscard]] SwingLaw swing_law(const core::Choke& choke, double henry);

}  // namespace firstglow::netlists
