#include "core/electrolytic.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numbers>
#include <string>

#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr double kSurfaceWattsPerSquareMetreKelvin = 10.0;
constexpr double kHeatJoulesPerCubicMetreKelvin = 1.5e6;
constexpr double kCubicMetresPerFaradVoltSquared = 1.2e-6;  // 1.2 cm3 per uF (kV)^2: per F V^2

constexpr double kFaradayCoulombs = 96485.0;  // per mol
constexpr double kOxideKilogramPerMol = 0.102;
constexpr double kOxideKilogramPerCubicMetre = 3100.0;
constexpr double kOxideElectrons = 6.0;
constexpr double kMetresPerVolt = 1.35e-9;
constexpr double kOxidePermittivity = 8.4 * 8.854e-12;
constexpr double kFormationShare = 1.25;
constexpr double kStandingShare = 0.002;  // A per F V: 0.002 uA per uF V

constexpr double kUnknownIdleYears = 20.0;

/// A plain decimal number at the start of `text`, which is then cut off; empty when there is none.
std::optional<double> take_number(std::string_view& text) {
  text = trimmed(text);
  double value = 0.0;
  const auto read =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (read.ec != std::errc()) {
    return std::nullopt;
  }
  text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
  text = trimmed(text);
  return value;
}

bool take_word(std::string_view& text, std::string_view word) {
  if (!text.starts_with(word)) {
    return false;
  }
  text = trimmed(text.substr(word.size()));
  return true;
}

}  // namespace

std::optional<RatedLife> read_rated_life(std::string_view text) {
  const std::optional<double> hours = take_number(text);
  if (!hours || !take_word(text, "h") || !take_word(text, "at")) {
    return std::nullopt;
  }
  const std::optional<double> celsius = take_number(text);
  if (!celsius || text != "C" || !(*hours >= 1.0 && *hours <= 1e6) ||
      !(*celsius >= 40.0 && *celsius <= 200.0)) {
    return std::nullopt;
  }
  return RatedLife{Seconds(*hours * 3600.0), Kelvin(*celsius + 273.15)};
}

CanHeat can_heat(const std::optional<BodySize>& can, Farads capacitance, Volts rated) {
  CanHeat heat;
  if (can && can->mm.size() == 2) {
    heat.diameter_m = can->mm[0] * 1e-3;
    heat.length_m = can->mm[1] * 1e-3;
  } else {
    heat.size_assumed = true;
    const double volume_m3 =
        kCubicMetresPerFaradVoltSquared * capacitance.si() * rated.si() * rated.si();
    heat.diameter_m = std::cbrt(2.0 * volume_m3 / std::numbers::pi);  // length = 2 diameters
    heat.length_m = 2.0 * heat.diameter_m;
  }
  const double end_m2 = 0.25 * std::numbers::pi * heat.diameter_m * heat.diameter_m;
  const double side_m2 = std::numbers::pi * heat.diameter_m * heat.length_m;
  heat.thermal_k_per_w = 1.0 / (kSurfaceWattsPerSquareMetreKelvin * (side_m2 + 2.0 * end_m2));
  heat.heat_capacity_j_per_k = kHeatJoulesPerCubicMetreKelvin * end_m2 * heat.length_m;
  return heat;
}

FormingGuess expected_guess(std::optional<int> years_idle) {
  const double years = years_idle ? static_cast<double>(*years_idle) : kUnknownIdleYears;
  return {std::max(0.1, std::exp2(-years / 10.0)), std::clamp(0.00015 * years, 0.001, 0.006), 0.2};
}

FormingGuess slow_guess() { return {0.1, 0.01, 0.6}; }

FormingGuess poor_guess(std::optional<int> years_idle) {
  FormingGuess guess = expected_guess(years_idle);
  guess.residual_share = 2.0;
  return guess;
}

OxideCan oxide_can(Farads capacitance, Volts rated, Amps leakage_limit, const FormingGuess& guess,
                   const CanHeat& heat) {
  const double area_m2 =
      capacitance.si() * kFormationShare * rated.si() * kMetresPerVolt / kOxidePermittivity;
  const double charge_c_per_m2 = kMetresPerVolt * kOxideKilogramPerCubicMetre /
                                 kOxideKilogramPerMol * kOxideElectrons * kFaradayCoulombs;
  OxideCan can;
  can.rated = rated;
  can.residual = guess.residual_share * leakage_limit;
  can.standing = Amps(kStandingShare * capacitance.si() * rated.si());
  can.charge_per_volt_c = guess.damaged_share * area_m2 * charge_c_per_m2;
  can.thermal_k_per_w = heat.thermal_k_per_w;
  can.heat_capacity_j_per_k = heat.heat_capacity_j_per_k;
  return can;
}

}  // namespace firstglow::core
