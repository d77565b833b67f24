#include "sim/studies/bleed_box.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "netlists/stack.hpp"

namespace firstglow::sim {
namespace {

/// A moment counts when some capacitor has this part of its largest volts.
constexpr double kLeastShare = 0.05;

/// The volts of a moment that belong to the capacitors.
ChargeMoment part_of(const ChargeMoment& moment, const std::set<int>& capacitors) {
  ChargeMoment mine;
  for (const int part : capacitors) {
    const auto found = moment.find(part);
    if (found != moment.end()) {
      mine.insert(*found);
    }
  }
  return mine;
}

/// How far the moment may be blown up before a capacitor is above its own largest volts.
double room_of(const ChargeMoment& moment, const std::map<int, double>& largest_v) {
  double factor = std::numeric_limits<double>::infinity();
  for (const auto& [part, volts] : moment) {
    if (std::abs(volts) > 1e-6 * largest_v.at(part)) {
      factor = std::min(factor, largest_v.at(part) / std::abs(volts));
    }
  }
  return factor;
}

core::NodeIndex other_end(const core::Capacitor& capacitor, core::NodeIndex node) {
  return capacitor.plus == node ? capacitor.minus : capacitor.plus;
}

/// Is there a resistor across the capacitors of one side of a joint?
bool shared_by_resistor(const core::Rig& rig, const std::set<std::string>& lifted,
                        core::NodeIndex joint, const std::vector<int>& side) {
  const auto& first =
      std::get<core::Capacitor>(rig.parts[static_cast<std::size_t>(side.front())].data);
  const core::NodeIndex far = other_end(first, joint);
  return std::any_of(rig.parts.begin(), rig.parts.end(), [&](const core::Part& part) {
    const auto* resistor = std::get_if<core::Resistor>(&part.data);
    return resistor != nullptr && !lifted.contains(part.designator) &&
           ((resistor->a == joint && resistor->b == far) ||
            (resistor->b == joint && resistor->a == far));
  });
}

void open_joints(const core::Rig& rig, const std::set<std::string>& lifted, StartBox& box) {
  const StartBox found = box;
  const auto highest = [&](const std::vector<int>& side) {
    double volts = 0.0;
    for (const int part : side) {
      const auto range = found.find(part);
      volts = std::max(volts, range == found.end() ? 0.0 : std::abs(range->second.largest()));
    }
    return volts;
  };
  for (const netlists::StackJoint& joint : netlists::stack_joints(rig)) {
    if (shared_by_resistor(rig, lifted, joint.node, joint.above) ||
        shared_by_resistor(rig, lifted, joint.node, joint.below)) {
      continue;
    }
    const double whole_v = highest(joint.above) + highest(joint.below);
    for (const auto* side : {&joint.above, &joint.below}) {
      for (const int part : *side) {
        const auto range = box.find(part);
        if (range != box.end()) {
          range->second.low_v = std::min(range->second.low_v, 0.0);
          range->second.high_v = std::max(range->second.high_v, whole_v);
        }
      }
    }
  }
}

}  // namespace

double StartRange::largest() const { return std::abs(low_v) > std::abs(high_v) ? low_v : high_v; }

StartBox fullest_moment(const core::Rig& rig, const std::vector<ChargeMoment>& moments,
                        const std::set<int>& capacitors) {
  StartBox fullest;
  double most_j = -1.0;
  for (const ChargeMoment& moment : moments) {
    const ChargeMoment mine = part_of(moment, capacitors);
    double energy_j = 0.0;
    for (const auto& [part, volts] : mine) {
      const auto& data = rig.parts[static_cast<std::size_t>(part)].data;
      energy_j += 0.5 * std::get<core::Capacitor>(data).value.nominal().si() * volts * volts;
    }
    if (mine.size() == capacitors.size() && energy_j > most_j) {
      most_j = energy_j;
      fullest.clear();
      for (const auto& [part, volts] : mine) {
        fullest[part] = StartRange{volts, volts};
      }
    }
  }
  return fullest;
}

StartBox start_box(const core::Rig& rig, const std::vector<ChargeMoment>& moments,
                   const std::set<int>& capacitors, const std::set<std::string>& lifted) {
  std::map<int, double> largest_v;
  for (const ChargeMoment& moment : moments) {
    for (const int part : capacitors) {
      const auto found = moment.find(part);
      if (found != moment.end()) {
        largest_v[part] = std::max(largest_v[part], std::abs(found->second));
      }
    }
  }
  StartBox box;
  for (const ChargeMoment& moment : moments) {
    const ChargeMoment mine = part_of(moment, capacitors);
    double factor = room_of(mine, largest_v);
    if (factor > 1.0 / kLeastShare) {
      continue;
    }
    if (mine.size() < capacitors.size()) {
      factor = 1.0;  // a stage without some of the capacitors says nothing of how they share
    }
    for (const auto& [part, volts] : mine) {
      const auto [place, fresh] = box.try_emplace(part, StartRange{factor * volts, factor * volts});
      place->second.low_v = std::min(place->second.low_v, factor * volts);
      place->second.high_v = std::max(place->second.high_v, factor * volts);
    }
  }
  open_joints(rig, lifted, box);
  return box;
}

}  // namespace firstglow::sim
