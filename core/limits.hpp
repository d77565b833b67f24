#pragma once
/// @file
/// From which volts or joules on is a charged capacitor held to be dangerous, and by whom?
///
/// Every limit names its source and can be replaced by the user's own; local codes and licensed
/// practice come before all of them. Below a limit is not "safe to touch".

#include <span>

#include "core/units.hpp"

namespace firstglow::core {

/// A voltage a capacitor must have fallen to within a time.
struct DischargeLimit {
  const char* name;
  Volts volts;
  Seconds within;      ///< 0 s: the source gives no time
  const char* source;  ///< key in docs/references.md
  const char* purpose;
};

/// Limits offered by name. Left out: the limits for wet places (lower), which local rules give.
[[nodiscard]] std::span<const DischargeLimit> discharge_limits();

/// The limit for power capacitors by the class of the circuit: 50 V within 1 minute up to 600 V,
/// within 5 minutes above.
/// @param working  working volts of the circuit [V]; >= 0.
/// Source: [NEC-460-6] (A), [NEC-460-28], [CAL-T8-2893] (a).
[[nodiscard]] const DischargeLimit& discharge_limit_for(Volts working);

/// Is a capacitor with this charge a shock hazard?
///
///     V < 100 V: E > 100 J;   100 V <= V < 400 V: E > 1 J;   V >= 400 V: E > 0.25 J
///
/// Left out: the shock of lesser charges, which can still throw a hand into something worse.
/// The tiers step down as the volts rise, so a falling charge can leave one tier and enter a laxer
/// one: 0.9 J is a hazard at 400 V and none at 399 V.
/// @param charge  volts across the capacitor, either sign.
/// @param energy  what it holds [J]; >= 0.
/// @throws ContractError when a value is not finite or the energy is negative.
/// Source: [NFPA-70E-360] (read second hand).
[[nodiscard]] bool is_hazardous_charge(Volts charge, Joules energy);

/// Energy at which the tier of that voltage begins [J].
[[nodiscard]] Joules hazardous_energy_at(Volts charge);

/// Energies worth a line of their own in a report: 100 J, 10 J, 1 J, 0.25 J.
[[nodiscard]] std::span<const Joules> energy_tiers();

}  // namespace firstglow::core
