#include "core/leakage_limits.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::core {
namespace {

/// microfarads x volts, in which the rules are written.
double uf_volts(Farads capacitance, Volts rated) { return capacitance.si() * 1e6 * rated.si(); }

Amps from_microamps(double microamps) { return Amps(microamps * 1e-6); }

// [JAN-C-62]: K by rated volts.
double period_factor(Volts rated) {
  if (rated.si() <= 100.0) {
    return 0.01;
  }
  if (rated.si() <= 250.0) {
    return 0.02;
  }
  return rated.si() <= 350.0 ? 0.025 : 0.04;
}

Amps period_limit(Farads capacitance, Volts rated) {
  return Amps((period_factor(rated) * capacitance.si() * 1e6 + 0.3) * 1e-3);
}

Amps one_percent(Farads capacitance, Volts rated) {
  return from_microamps(std::max(0.01 * uf_volts(capacitance, rated), 3.0));
}

Amps three_percent(Farads capacitance, Volts rated) {
  return from_microamps(std::max(0.03 * uf_volts(capacitance, rated), 4.0));
}

Amps power_law(Farads capacitance, Volts rated) {
  return from_microamps(0.3 * std::pow(uf_volts(capacitance, rated), 0.7) + 4.0);
}

}  // namespace

const std::vector<LeakageRule>& leakage_rules() {
  static const std::vector<LeakageRule> kRules{
      {"period", "K C + 0.3 mA, C in uF, K = 0.01 to 0.04 by rated volts", "[JAN-C-62]",
       Seconds(300.0), period_limit},
      {"0.01cv", "0.01 C V uA, at least 3 uA", "[LEAKAGE-FORMS]", Seconds(120.0), one_percent},
      {"0.03cv", "0.03 C V uA, at least 4 uA", "[LEAKAGE-FORMS]", Seconds(60.0), three_percent},
      {"power", "0.3 (C V)^0.7 + 4 uA", "[LEAKAGE-FORMS]", Seconds(300.0), power_law}};
  return kRules;
}

const LeakageRule* find_leakage_rule(std::string_view key) {
  const auto found = std::find_if(leakage_rules().begin(), leakage_rules().end(),
                                  [key](const LeakageRule& rule) { return rule.key == key; });
  return found == leakage_rules().end() ? nullptr : &*found;
}

}  // namespace firstglow::core
