#include "sim/studies/switch_on_time.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::sim {
namespace {

constexpr double kBriefShare = 1.1;
constexpr int kBriefCycles = 3;
constexpr double kEarlyShare = 0.75;  ///< of a run: a later peak may not be the last

/// sqrt(L C) at the upper ends over sqrt(L C) nominal, at most.
double longest_swing(const core::Rig& rig) {
  double capacitors = 1.0;
  double chokes = 1.0;
  for (const core::Part& part : rig.parts) {
    if (const auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      capacitors = std::max(capacitors, 1.0 + capacitor->value.tolerance.plus);
    } else if (const auto* choke = std::get_if<core::Choke>(&part.data)) {
      chokes = std::max(chokes, 1.0 + choke->value.tolerance.plus);
    }
  }
  return std::sqrt(capacitors * chokes);
}

bool is_peak(const Stress& stress) {
  return stress.rule == StressRule::capacitor_surge_volts ||
         stress.rule == StressRule::rectifier_surge_current ||
         stress.rule == StressRule::rectifier_piv;
}

/// Does some steady state go as far or further?
bool is_on_the_way(const Stress& stress, const std::map<StressKey, WorstStress>& worst) {
  const StressRule steady_rule = stress.rule == StressRule::capacitor_surge_volts
                                     ? StressRule::capacitor_working_volts
                                     : stress.rule;
  const auto steady = worst.find({stress.part, stress.section, steady_rule});
  return steady != worst.end() && !steady->second.transient && steady->second.value >= stress.value;
}

}  // namespace

bool has_step_start(const core::Rig& rig) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [](const core::Part& part) {
    return std::holds_alternative<core::StepStart>(part.data);
  });
}

bool swings_are_over(const std::vector<Stress>& stresses,
                     const std::map<StressKey, WorstStress>& worst, double stop_s) {
  return std::all_of(stresses.begin(), stresses.end(), [&](const Stress& stress) {
    return !is_peak(stress) || is_on_the_way(stress, worst) || stress.at_s < kEarlyShare * stop_s;
  });
}

double brief_switch_on_s(const core::Rig& rig, const std::vector<Stress>& nominal,
                         const std::map<StressKey, WorstStress>& worst, double whole_s) {
  if (has_step_start(rig)) {
    return whole_s;
  }
  double last_s = 0.0;
  for (const Stress& stress : nominal) {
    if (is_peak(stress) && !is_on_the_way(stress, worst)) {
      last_s = std::max(last_s, stress.at_s);
    }
  }
  return std::min(whole_s, kBriefShare * longest_swing(rig) * last_s +
                               kBriefCycles / rig.mains().frequency.si());
}

}  // namespace firstglow::sim
