#pragma once
/// @file
/// What is known of one electrolytic beside its ratings: age, can, life; and what follows from it?

#include <optional>
#include <string_view>

#include "core/oxide_law.hpp"
#include "core/stock_list.hpp"
#include "core/units.hpp"

namespace firstglow::core {

/// A maker's life at rated volts and ripple, e.g. "2000 h at 85 C".
struct RatedLife {
  Seconds life;
  Kelvin temperature;
};

/// "2000 h at 105 C"; empty when it is anything else. 1 to 1 000 000 h, 40 to 200 C.
[[nodiscard]] std::optional<RatedLife> read_rated_life(std::string_view text);

struct ElectrolyticHistory {
  std::optional<int> years_old;   ///< since it was made
  std::optional<int> years_idle;  ///< without volts
  std::optional<BodySize> can;    ///< diameter x length
  std::optional<RatedLife> life;
};

/// The can as a body that loses heat.
struct CanHeat {
  double thermal_k_per_w = 0.0;
  double heat_capacity_j_per_k = 0.0;
  double diameter_m = 0.0, length_m = 0.0;
  bool size_assumed = false;
};

/// Model: the whole surface of the cylinder gives off 10 W per square metre and kelvin (still air,
/// convection and radiation: common figure, no source); 1.5 J per cubic centimetre and kelvin
/// (foil, paper and electrolyte: assumed). Without a size, the volume of a present-day can of the
/// same stored energy is taken: 1.2 cubic centimetres per uF and (kV)^2, twice as long as wide
/// (assumed). An old can is larger and runs cooler: safe side.
[[nodiscard]] CanHeat can_heat(const std::optional<BodySize>& can, Farads capacitance, Volts rated);

/// How a can that nobody has measured is taken to be. All of it assumed, no source.
struct FormingGuess {
  double formed_share;    ///< of rated volts that the film still stands
  double damaged_share;   ///< of the film's area that has to be mended
  double residual_share;  ///< of the leakage limit that stays for ever
};
/// The expected one: half of the formed volts lost every 10 idle years (20 when not known), not
/// below 10 %; 0.015 % of the area damaged for each idle year, 0.1 to 0.6 %; a fifth of the limit.
[[nodiscard]] FormingGuess expected_guess(std::optional<int> years_idle);
/// One that takes long: 10 % formed, 1 % damaged, 60 % of the limit.
[[nodiscard]] FormingGuess slow_guess();
/// One that never gets there: as expected, but twice the limit stays.
[[nodiscard]] FormingGuess poor_guess(std::optional<int> years_idle);

/// The can of the oxide law.
///
/// The charge to mend one volt is that of growing 1.35 nm of oxide (3.1 g/cm3, six electrons per
/// Al2O3, Faraday's law: 2.4 mC per square centimetre) on the damaged share of the area; the area
/// follows from C times the formation volts (1.25 of rated) with a relative permittivity of 8.4:
/// 5.5 uF V per square centimetre. Worked out; the material constants are from memory.
/// "Stands" means: the forming current has fallen to 0.002 C V uA (uF, V), a fifth of the 0.01 C V
/// rule (a definition).
[[nodiscard]] OxideCan oxide_can(Farads capacitance, Volts rated, Amps leakage_limit,
                                 const FormingGuess& guess, const CanHeat& heat);

}  // namespace firstglow::core
