#include "sim/studies/stack_mirror.hpp"

#include <algorithm>
#include <set>

#include "netlists/stack.hpp"

namespace firstglow::sim {
namespace {

using core::NodeIndex;
using Section = std::vector<int>;  ///< part indices, capacitors first

constexpr std::size_t kLeastSections = 3;

template <class Q>
bool same_value(const core::PartValue<Q>& a, const core::PartValue<Q>& b) {
  return a.nominal() == b.nominal() && a.low() == b.low() && a.high() == b.high();
}

/// Would the circuit and the ratings stay the same if the two changed places?
bool alike(const core::Part& a, const core::Part& b) {
  const auto* can_a = std::get_if<core::Capacitor>(&a.data);
  const auto* can_b = std::get_if<core::Capacitor>(&b.data);
  if (can_a != nullptr && can_b != nullptr) {
    return same_value(can_a->value, can_b->value) && can_a->dielectric == can_b->dielectric &&
           can_a->esr == can_b->esr && can_a->leakage == can_b->leakage &&
           can_a->working_volts == can_b->working_volts &&
           can_a->surge_volts == can_b->surge_volts &&
           can_a->ripple_current == can_b->ripple_current;
  }
  const auto* r_a = std::get_if<core::Resistor>(&a.data);
  const auto* r_b = std::get_if<core::Resistor>(&b.data);
  return r_a != nullptr && r_b != nullptr && same_value(r_a->value, r_b->value) &&
         r_a->role == r_b->role && r_a->watts == r_b->watts &&
         r_a->working_volts == r_b->working_volts;
}

/// Parts between two nodes; empty when one of them is neither capacitor nor resistor, or when
/// there is not at least one of each.
Section section_between(const core::Rig& rig, NodeIndex top, NodeIndex bottom) {
  Section cans;
  Section resistors;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const std::vector<NodeIndex> ends = core::terminals(rig.parts[i]);
    if (ends.size() != 2 ||
        std::set<NodeIndex>(ends.begin(), ends.end()) != std::set<NodeIndex>{top, bottom}) {
      continue;
    }
    if (std::holds_alternative<core::Capacitor>(rig.parts[i].data)) {
      cans.push_back(static_cast<int>(i));
    } else if (std::holds_alternative<core::Resistor>(rig.parts[i].data)) {
      resistors.push_back(static_cast<int>(i));
    } else {
      return {};
    }
  }
  if (cans.empty() || resistors.empty()) {
    return {};
  }
  cans.insert(cans.end(), resistors.begin(), resistors.end());
  return cans;
}

bool alike(const core::Rig& rig, const Section& a, const Section& b) {
  return a.size() == b.size() && !a.empty() &&
         std::equal(a.begin(), a.end(), b.begin(), [&](int x, int y) {
           return alike(rig.parts[static_cast<std::size_t>(x)],
                        rig.parts[static_cast<std::size_t>(y)]);
         });
}

std::size_t ends_at(const core::Rig& rig, NodeIndex node) {
  std::size_t count = 0;
  for (const core::Part& part : rig.parts) {
    const std::vector<NodeIndex> ends = core::terminals(part);
    count += static_cast<std::size_t>(std::count(ends.begin(), ends.end(), node));
  }
  return count;
}

/// Node on the other side of a capacitor.
NodeIndex far_end(const core::Rig& rig, int part, NodeIndex near) {
  const auto& can = std::get<core::Capacitor>(rig.parts[static_cast<std::size_t>(part)].data);
  return can.plus == near ? can.minus : can.plus;
}

/// Like sections from the top of each stack down, broken where one differs from the one above it
/// or where something else hangs on the joint between them.
std::vector<std::vector<Section>> runs_of_like(const core::Rig& rig) {
  const std::vector<netlists::StackJoint> joints = netlists::stack_joints(rig);
  std::vector<std::vector<Section>> runs;
  for (const netlists::StackJoint& first : joints) {
    if (far_end(rig, first.above.front(), first.node) != first.top) {
      continue;  // not the uppermost joint of its stack
    }
    std::vector<Section> run{section_between(rig, first.top, first.node)};
    NodeIndex node = first.node;
    for (std::size_t step = 0; step <= joints.size(); ++step) {
      const auto joint = std::find_if(joints.begin(), joints.end(),
                                      [&](const auto& each) { return each.node == node; });
      if (joint == joints.end()) {
        break;
      }
      const NodeIndex below = far_end(rig, joint->below.front(), node);
      const Section section = section_between(rig, node, below);
      if (!alike(rig, run.back(), section) ||
          ends_at(rig, node) != run.back().size() + section.size()) {
        runs.push_back(run);
        run.clear();
      }
      run.push_back(section);
      node = below;
    }
    runs.push_back(run);
  }
  return runs;
}

}  // namespace

StackMirror::StackMirror(const core::Rig& rig) : rig_(rig) {
  for (const std::vector<Section>& run : runs_of_like(rig)) {
    for (std::size_t k = 1; run.size() >= kLeastSections && k < run.size(); ++k) {
      Swap swap;
      for (std::size_t i = 0; i < run[k].size(); ++i) {
        swap[run[0][i]] = run[k][i];
        swap[run[k][i]] = run[0][i];
        swap_of_part_[run[k][i]] = swaps_.size();
      }
      swaps_.push_back(std::move(swap));
    }
  }
}

const StackMirror::Swap* StackMirror::swap_of(int part) const {
  const auto found = swap_of_part_.find(part);
  return found == swap_of_part_.end() ? nullptr : &swaps_[found->second];
}

std::vector<Stress> StackMirror::swapped(std::vector<Stress> stresses, const Swap& swap) {
  for (Stress& stress : stresses) {
    const auto other = swap.find(stress.part);
    stress.part = other == swap.end() ? stress.part : other->second;
  }
  std::stable_sort(stresses.begin(), stresses.end(),
                   [](const Stress& a, const Stress& b) { return a.part < b.part; });
  return stresses;
}

int StackMirror::index_of(const std::string& designator) const {
  return static_cast<int>(rig_.find(designator) - rig_.parts.data());
}

netlists::Situation StackMirror::swapped(netlists::Situation situation, const Swap& swap) const {
  std::map<std::string, double> corner;
  for (const auto& [designator, direction] : situation.corner) {
    const auto other = swap.find(index_of(designator));
    const std::string& name = other == swap.end()
                                  ? designator
                                  : rig_.parts[static_cast<std::size_t>(other->second)].designator;
    corner[name] = direction;
  }
  situation.corner = std::move(corner);
  return situation;
}

}  // namespace firstglow::sim
