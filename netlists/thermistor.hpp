#pragma once
/// @file
/// Which resistance has a thermistor against switch-on current?

#include "core/rig.hpp"

namespace firstglow::netlists {

/// Temperature of the cold value and of the air around [K].
inline constexpr double kThermistorRoomKelvin = 298.15;

/// The numbers of an NtcElement.
///
/// Model:  ohm = cold_ohm exp(beta_k (1/T - 1/298.15 K)),
///         heat_j_per_k dT/dt = power - w_per_k (T - 298.15 K).
///
/// From the record: the settled temperature T_hot follows from `hot` over `cold`, then
/// w_per_k = rated_current^2 hot / (T_hot - 298.15 K), heat_j_per_k = thermal_time w_per_k.
/// Left out: the air inside a rig is warmer than 25 C, so the true part starts lower and limits
/// less (unsafe side); a part switched on again before it has cooled limits hardly at all.
/// Source: the B law as in every thermistor data sheet; docs/methods/mains_side.md.
struct ThermistorParameters {
  double cold_ohm = 0.0, beta_k = 0.0, w_per_k = 0.0, heat_j_per_k = 0.0;

  [[nodiscard]] double ohm_at_kelvin(double kelvin) const;
};

/// @throws ContractError unless cold > hot > 0, rated current, beta and thermal time above 0.
[[nodiscard]] ThermistorParameters thermistor_of(const core::NtcLimiter& part);

/// Temperature settled at the part's rated current [K].
[[nodiscard]] double hot_kelvin(const core::NtcLimiter& part);

/// Resistance [ohm] it settles at under a held current [A rms]. One answer for each current: heat
/// given off rises with temperature while the heat made falls.
[[nodiscard]] double settled_ohm_at_amps(const ThermistorParameters& part, double amps_rms);

}  // namespace firstglow::netlists
