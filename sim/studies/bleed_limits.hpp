#pragma once
/// @file
/// Below what must a capacitor fall, within what time, and who says so?

#include <optional>
#include <string>
#include <vector>

namespace firstglow::sim {

/// A limit that a capacitor must fall below, as volts for a given capacitance.
struct BleedLimit {
  std::string words;
  std::string source;
  double volts = 0.0;              ///< used when > 0
  double energy_j = 0.0;           ///< used when > 0
  bool hazard_tier = false;        ///< tier of core::is_hazardous_charge
  double charge_c = 0.0;           ///< used when > 0
  std::optional<double> within_s;  ///< empty: the code's time for power capacitors
  std::string purpose;             ///< what the limit was written for

  [[nodiscard]] double volts_for(double capacitance_f) const;
};

/// One limit that the user asks for instead of 50 V. All values > 0.
[[nodiscard]] BleedLimit volts_limit(double volts);
[[nodiscard]] BleedLimit energy_limit(double joules);
[[nodiscard]] BleedLimit charge_limit(double coulombs);
/// One of core::discharge_limits() by its name; empty when there is none of that name.
[[nodiscard]] std::optional<BleedLimit> named_limit(const std::string& name);
/// Names for messages: "power-capacitor-600, ...".
[[nodiscard]] std::string limit_names();

/// The limits of a bleed-down: the one asked for, then the shock hazard tier, joules, coulombs.
[[nodiscard]] std::vector<BleedLimit> bleed_limits(const BleedLimit& first);
[[nodiscard]] std::vector<BleedLimit> bleed_limits(double limit_v);

/// Volts above which core::is_hazardous_charge() holds for a capacitance.
[[nodiscard]] double hazard_volts(double capacitance_f);

}  // namespace firstglow::sim
