#include "sim/studies/stack_chain.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "netlists/stack.hpp"

namespace firstglow::sim {
namespace {

using core::NodeIndex;

const core::Capacitor& can_of(const core::Rig& rig, std::size_t part) {
  return std::get<core::Capacitor>(rig.parts[part].data);
}

NodeIndex other_end(const core::Capacitor& can, NodeIndex node) {
  return can.plus == node ? can.minus : can.plus;
}

/// The joint whose cans above end at `upper`; nullptr when there is none.
const netlists::StackJoint* joint_below(const core::Rig& rig,
                                        const std::vector<netlists::StackJoint>& joints,
                                        NodeIndex upper) {
  for (const netlists::StackJoint& joint : joints) {
    const bool hangs =
        !joint.above.empty() &&
        other_end(can_of(rig, static_cast<std::size_t>(joint.above.front())), joint.node) == upper;
    if (hangs) {
      return &joint;
    }
  }
  return nullptr;
}

ChainSection section_of(const core::Rig& rig, NodeIndex upper, NodeIndex lower) {
  ChainSection section{upper, lower, {}, {}};
  const auto across = [&](NodeIndex a, NodeIndex b) {
    return (a == upper && b == lower) || (a == lower && b == upper);
  };
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::PartData& data = rig.parts[i].data;
    if (const auto* can = std::get_if<core::Capacitor>(&data);
        can != nullptr && across(can->plus, can->minus)) {
      section.cans.push_back(i);
    } else if (const auto* resistor = std::get_if<core::Resistor>(&data);
               resistor != nullptr && across(resistor->a, resistor->b)) {
      section.equalisers.push_back(i);
    }
  }
  return section;
}

void lower_to(std::optional<double>& lowest, const std::optional<core::Volts>& volts, bool first) {
  if (!volts || (!first && !lowest)) {
    lowest.reset();
    return;
  }
  lowest = first ? volts->si() : std::min(*lowest, volts->si());
}

}  // namespace

std::vector<StackChain> stack_chains(const core::Rig& rig) {
  std::map<std::pair<NodeIndex, NodeIndex>, std::vector<netlists::StackJoint>> stacks;
  for (const netlists::StackJoint& joint : netlists::stack_joints(rig)) {
    stacks[{joint.top, joint.bottom}].push_back(joint);
  }
  std::vector<StackChain> chains;
  for (const auto& [ends, joints] : stacks) {
    StackChain chain;
    NodeIndex upper = ends.first;
    for (std::size_t k = 0; k < joints.size(); ++k) {
      const netlists::StackJoint* joint = joint_below(rig, joints, upper);
      if (joint == nullptr) {
        break;
      }
      chain.sections.push_back(section_of(rig, upper, joint->node));
      upper = joint->node;
    }
    chain.sections.push_back(section_of(rig, upper, ends.second));
    if (chain.sections.size() == joints.size() + 1) {
      chains.push_back(std::move(chain));
    }
  }
  return chains;
}

SectionValues values_of(const core::Rig& rig, const ChainSection& section,
                        const core::LeakageRule& rule) {
  SectionValues values;
  for (std::size_t k = 0; k < section.cans.size(); ++k) {
    const core::Capacitor& can = can_of(rig, section.cans[k]);
    values.nominal_f += can.value.nominal().si();
    values.split.low = values.split.low + can.value.low();
    values.split.high = values.split.high + can.value.high();
    lower_to(values.working_v, can.working_volts, k == 0);
    lower_to(values.surge_v, can.surge_volts, k == 0);
    values.leakage_assumed = values.leakage_assumed || !can.leakage;
    const bool wet = can.dielectric == core::Dielectric::electrolytic;
    const core::Amps by_rule = wet && can.working_volts
                                   ? rule.limit(can.value.nominal(), *can.working_volts)
                                   : core::Amps();
    values.split.leakage = values.split.leakage + can.leakage.value_or(by_rule);
  }
  double low_s = 0.0, high_s = 0.0, nominal_s = 0.0;
  for (const std::size_t i : section.equalisers) {
    const auto& value = std::get<core::Resistor>(rig.parts[i].data).value;
    low_s += 1.0 / value.high().si();
    high_s += 1.0 / value.low().si();
    nominal_s += 1.0 / value.nominal().si();
  }
  if (!section.equalisers.empty()) {
    values.split.equaliser_low = core::Ohms(1.0 / high_s);
    values.split.equaliser_high = core::Ohms(1.0 / low_s);
    values.equaliser_ohm = 1.0 / nominal_s;
  }
  return values;
}

}  // namespace firstglow::sim
