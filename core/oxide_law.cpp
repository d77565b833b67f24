#include "core/oxide_law.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/error.hpp"

namespace firstglow::core {
namespace {

constexpr double kLargestExponent = 40.0;
constexpr double kPerKelvin = std::numbers::ln2 / kLeakageDoublingKelvin;
/// The law is held at its value of 150 C: what boils is past any law.
constexpr double kHottestKelvin = 423.15;

double tangent_exp(double x) {
  return x <= kLargestExponent ? std::exp(x)
                               : std::exp(kLargestExponent) * (1.0 + x - kLargestExponent);
}

double heat_factor(Kelvin can) {
  const double kelvin = std::min(can.si(), kHottestKelvin);
  return std::exp(kPerKelvin * (kelvin - kLeakageReference.si()));
}

}  // namespace

LeakageParts leakage(const OxideCan& can, const OxideState& state, Volts across) {
  FIRSTGLOW_REQUIRE(can.rated > Volts() && state.formed > Volts(),
                    "an oxide film has rated and formed volts above 0");
  const double across_v = std::max(across.si(), 0.0);
  if (across_v == 0.0) {
    return {};
  }
  const double factor = heat_factor(state.can);
  const double field = across_v / state.formed.si() - 1.0;
  const double share = across_v / can.rated.si();
  // The factor v/v_f in front lets the current vanish at 0 V and is 1 where the law matters.
  return {factor * std::min(across_v / state.formed.si(), 1.0) *
              tangent_exp(kFieldExponent * field) * can.standing,
          factor * share * tangent_exp((share - 1.0) / kResidualScale) * can.residual};
}

OxideRate oxide_rate(const OxideCan& can, const OxideState& state, Volts across, Kelvin air,
                     Watts heat) {
  FIRSTGLOW_REQUIRE(
      can.charge_per_volt_c > 0.0 && can.thermal_k_per_w > 0.0 && can.heat_capacity_j_per_k > 0.0,
      "an oxide can has charge, thermal resistance and heat capacity above 0");
  const LeakageParts parts = leakage(can, state, across);
  const double heat_w = std::max(across.si(), 0.0) * parts.total().si() + heat.si();
  const double lost_w = (state.can - air).si() / can.thermal_k_per_w;
  return {parts.forming.si() / can.charge_per_volt_c,
          (heat_w - lost_w) / can.heat_capacity_j_per_k};
}

Amps runaway_leakage(const OxideCan& can, Volts across) {
  return Amps(1.0 / (std::numbers::e * kPerKelvin * can.thermal_k_per_w * across.si()));
}

std::optional<Kelvin> settled_temperature(const OxideCan& can, Volts across,
                                          Amps leakage_in_cool_can, Kelvin air) {
  if (leakage_in_cool_can > runaway_leakage(can, across)) {
    return std::nullopt;
  }
  // y = x exp(y) with y = a (T - T_air), x = a R_th P <= 1/e: from 0 the iteration rises to the
  // lower, stable root.
  const double x = kPerKelvin * can.thermal_k_per_w * across.si() * leakage_in_cool_can.si();
  double y = x;
  for (int i = 0; i < 200; ++i) {
    y = x * std::exp(y);
  }
  return Kelvin(air.si() + y / kPerKelvin);
}

}  // namespace firstglow::core
