#pragma once
/// @file
/// Which resistance has a tungsten wire (test lamp, heater) at a temperature, voltage or power?

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::netlists {

/// Exponent of resistance over absolute temperature: within 2 % of [FORSYTHE-1925] from 300 K to
/// 3600 K.
inline constexpr double kTungstenExponent = 1.218;
/// Room temperature of every model [K].
inline constexpr double kRoomKelvin = 300.0;

/// The numbers of a ThermalResistorElement.
///
/// Model:  ohm = cold_ohm (T / 300 K)^1.218,
///         heat_j_per_k dT/dt = power - radiated_w, which goes as T^4.195 (netlists/radiation.hpp).
///
/// Left out: heat led away by the supports and the gas. Near room temperature the true wire is
/// cooler than the model, so its true current is higher: read the first glow with care.
/// Source and checks: docs/methods/lamp_and_heater.md.
struct TungstenParameters {
  double cold_ohm = 0.0;  ///< at 300 K, > 0
  double hot_k = 0.0;     ///< temperature at rated power, > 300 K
  double hot_w = 0.0;     ///< rated power, > 0
  double heat_j_per_k = 0.0;

  [[nodiscard]] double hot_ohm() const { return ohm_at_kelvin(hot_k); }
  [[nodiscard]] double ohm_at_kelvin(double kelvin) const;
};

/// General-service lamp of the given rating, both ratings > 0.
[[nodiscard]] TungstenParameters tungsten_of(const LampInSeries& lamp);
/// Indirectly heated tubes, lumped. @throws ContractError unless hot > cold > 0.
[[nodiscard]] TungstenParameters tungsten_of(const core::Heater& heater);

/// Filament or heater of a rectifier tube: cold at a fifth of its hot ohms (common practice, no
/// source; the nickel-alloy core of many filaments changes less, so the true cold surge is lower).
[[nodiscard]] TungstenParameters tungsten_of(const core::RectifierHeater& heater);

/// Temperature [K] that carries `watts` away; room temperature at 0 W.
[[nodiscard]] double kelvin_at_power(const TungstenParameters& wire, double watts);
/// Resistance [ohm] when the wire turns `watts` into heat for good; watts >= 0.
[[nodiscard]] double ohm_at_power(const TungstenParameters& wire, double watts);
/// Resistance [ohm] the wire settles at under a held voltage [V rms], or a held current [A rms].
/// Both answers end at 4 times hot_k, far above the melting point of tungsten.
[[nodiscard]] double equilibrium_ohm_at_volts(const TungstenParameters& wire, double volts_rms);
[[nodiscard]] double equilibrium_ohm_at_amps(const TungstenParameters& wire, double amps_rms);

}  // namespace firstglow::netlists
