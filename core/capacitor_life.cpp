#include "core/capacitor_life.hpp"

#include <cmath>

#include "core/error.hpp"

namespace firstglow::core {
namespace {

constexpr double kDoublingKelvin = 10.0;
constexpr double kHotClassKelvin = 378.15 - 1.0;  // parts of 105 C and up
constexpr double kLowVoltsShare = 0.6;

double temperature_factor(const RatedLife& rated, Kelvin at) {
  return std::exp2((rated.temperature - at).si() / kDoublingKelvin);
}

/// Rise of the core at rated ripple that gives the shorter life.
double rated_rise_k(bool hot_class, bool over_ripple) {
  if (!over_ripple) {
    return 3.5;
  }
  return hot_class ? 5.0 : 10.0;
}

}  // namespace

Seconds ten_degree_life(const RatedLife& rated, Kelvin at) {
  return temperature_factor(rated, at) * rated.life;
}

std::optional<LifeFactors> maker_life_factors(const RatedLife& rated, const CapacitorDuty& duty) {
  FIRSTGLOW_REQUIRE(duty.rated_ripple > Amps() && duty.rated > Volts(),
                    "a life needs rated ripple and rated volts above 0");
  const double share = duty.volts / duty.rated;
  if (share > 1.0) {
    return std::nullopt;
  }
  LifeFactors factors;
  factors.temperature = temperature_factor(rated, duty.air);
  const double ripple = duty.ripple / duty.rated_ripple;
  const bool over = ripple > 1.0;
  const bool hot_class = rated.temperature.si() >= kHotClassKelvin;
  const double base = hot_class && over ? 4.0 : 2.0;
  factors.ripple =
      std::pow(base, (1.0 - ripple * ripple) * rated_rise_k(hot_class, over) / kDoublingKelvin);
  factors.volts = share >= kLowVoltsShare ? std::pow(share, -2.5) : 3.59;
  return factors;
}

ShelfStep shelf_advice(std::optional<int> years_idle) {
  if (!years_idle) {
    return {ShelfAdvice::unknown,
            "years_idle is not in the record: treat it as long stored and form it slowly"};
  }
  if (*years_idle <= 2) {
    return {ShelfAdvice::use, "needs no treatment on its years alone"};
  }
  if (*years_idle < 4) {
    return {ShelfAdvice::test, "read its leakage at rated volts first"};
  }
  if (*years_idle < 10) {
    return {ShelfAdvice::condition, "pre-condition it before it is used"};
  }
  return {ShelfAdvice::reform,
          "beyond the usual shelf life: form it slowly with a log, or replace it"};
}

std::vector<ConditioningRule> conditioning_rules(Volts rated, std::optional<int> years_idle) {
  const double volts = rated.si();
  const Ohms per_volt(volts);
  std::vector<ConditioningRule> rules;
  rules.push_back({"industry pre-conditioning", "[EIA-815]", Ohms(volts > 100.0 ? 1000.0 : 100.0),
                   Seconds(3600.0), Amps(), per_volt, "then rest for 12 to 48 h, then test"});
  rules.push_back({"a maker's rule", "[CDE-1993]", Ohms(volts > 75.0 ? 100e3 : 10e3),
                   Seconds(4.0 * 3600.0), Amps(1e-3), Ohms(),
                   "raise the volts slowly under the ceiling, then the dwell at full volts"});
  if (years_idle) {
    const double minutes = 5.0 + 12.0 * *years_idle;
    rules.push_back(
        {"long-stored parts", "[OLD-STOCK]", Ohms(30e3), Seconds(minutes * 60.0), Amps(), Ohms(),
         "give up when more than 10 % of the volts stay on the resistor after an hour"});
  }
  return rules;
}

}  // namespace firstglow::core
