#include "sim/studies/bleed_warnings.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace firstglow::sim {
namespace {

using Words = std::vector<std::string>;

/// Capacitors that never fall below the first limit in a case.
Words never_in(const DischargeCase& one) {
  Words parts;
  for (const CapacitorDischarge& capacitor : one.capacitors) {
    if (!capacitor.limits.empty() && !capacitor.limits.front().time_s) {
      parts.push_back(capacitor.part);
    }
  }
  return parts;
}

const DischargeCase* intact_case_of(const BleedResult& result) {
  const auto found =
      std::find_if(result.cases.begin(), result.cases.end(), [](const DischargeCase& one) {
        return one.open_part.empty() && one.worst_corner && one.failure.empty();
      });
  return found == result.cases.end() ? nullptr : &*found;
}

/// Which parts each capacitor hangs on alone: open one, and its charge stays.
void add_single_paths(const BleedResult& result, Words& warnings) {
  const DischargeCase* intact = intact_case_of(result);
  const Words already = intact == nullptr ? Words{} : never_in(*intact);
  std::map<std::string, Words> hangs_on;
  for (const DischargeCase& one : result.cases) {
    for (const std::string& part : one.open_part.empty() ? Words{} : never_in(one)) {
      if (std::find(already.begin(), already.end(), part) == already.end()) {
        hangs_on[part].push_back(one.open_part);
      }
    }
  }
  for (const auto& [part, alone] : hangs_on) {
    warnings.push_back(
        fmt::format("{} empties itself only while {} {} whole: open {}, and it NEVER falls {}.",
                    part, fmt::join(alone, " and "), alone.size() == 1 ? "is" : "are",
                    alone.size() == 1 ? "that one part" : "any one of them", result.limit.words));
  }
}

void add_rebound(const BleedResult& result, const BleedOptions& options, Words& warnings) {
  Words climbing;
  for (const Rebound& rebound : result.rebounds) {
    if (rebound.above_after_s) {
      climbing.push_back(fmt::format("{} to {:.0f} V", rebound.part, rebound.peak_v));
    }
  }
  if (!climbing.empty()) {
    warnings.push_back(fmt::format(
        "REBOUND: shorted for {:g} s and released, these charge themselves again to more than is "
        "allowed ({}): {}. The hook stays on.",
        options.rebound.shorted.si(), result.limit.words, fmt::join(climbing, ", ")));
  }
}

bool at_a_rectifier(const core::Rig& rig, const core::Capacitor& capacitor) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [&](const core::Part& part) {
    const auto paths = core::rectifier_paths(part);
    return std::any_of(paths.begin(), paths.end(), [&](const core::RectifierPath& path) {
      const auto touches = [&](core::NodeIndex node) {
        return node != core::kChassis && node != core::kOpenNode &&
               (node == capacitor.plus || node == capacitor.minus);
      };
      return touches(path.anode) || touches(path.cathode);
    });
  });
}

void add_trapped(const core::Rig& rig, const BleedResult& result, Words& warnings) {
  const DischargeCase* intact = intact_case_of(result);
  for (const std::string& part : intact == nullptr ? Words{} : never_in(*intact)) {
    const auto& capacitor = std::get<core::Capacitor>(rig.find(part)->data);
    warnings.push_back(fmt::format("{} keeps its charge even with every part whole: {}.", part,
                                   at_a_rectifier(rig, capacitor)
                                       ? "it is trapped behind a rectifier, which lets it in and "
                                         "not out"
                                       : "nothing in the record leads it away"));
  }
}

/// Supplies that stand below the chassis: the meter and the capacitor the other way round.
void add_polarity(const core::Rig& rig, const BleedResult& result, Words& warnings) {
  Words negative;
  for (const Rebound& rebound : result.rebounds) {
    const auto& capacitor = std::get<core::Capacitor>(rig.find(rebound.part)->data);
    if (capacitor.plus == core::kChassis && rebound.start_v > 0.0) {
      negative.push_back(rebound.part);
    }
  }
  if (!negative.empty()) {
    warnings.push_back(fmt::format(
        "OTHER POLARITY: {} stand below the chassis, plus terminal at the chassis. Measure them "
        "too; their bleeder is not that of B+.",
        fmt::join(negative, ", ")));
  }
}

/// Filter capacitors that stand on a node with their plus, and those with their minus: a stack, or
/// the two halves of a doubler.
void add_stacks(const core::Rig& rig, Words& warnings) {
  constexpr double kLeastFarad = 0.25e-6;  // bypasses are not meant
  std::map<core::NodeIndex, std::pair<Words, Words>> nodes;
  for (const core::Part& part : rig.parts) {
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    if (capacitor != nullptr && capacitor->value.nominal().si() >= kLeastFarad) {
      nodes[capacitor->minus].first.push_back(part.designator);
      nodes[capacitor->plus].second.push_back(part.designator);
    }
  }
  for (const auto& [node, sides] : nodes) {
    if (node == core::kChassis || node == core::kOpenNode || sides.first.empty() ||
        sides.second.empty()) {
      continue;
    }
    warnings.push_back(fmt::format(
        "STACK: {} on {}, in series. 0 V across the ends says nothing of each: measure, "
        "discharge and hook every unit by itself. [OSHA-1910-269]",
        fmt::join(sides.first, ", "), fmt::join(sides.second, ", ")));
  }
}

}  // namespace

Words bleed_warnings(const core::Rig& rig, const BleedResult& result, const BleedOptions& options) {
  Words warnings;
  add_trapped(rig, result, warnings);
  add_single_paths(result, warnings);
  add_rebound(result, options, warnings);
  add_stacks(rig, warnings);
  add_polarity(rig, result, warnings);
  return warnings;
}

}  // namespace firstglow::sim
