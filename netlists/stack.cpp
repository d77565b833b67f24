#include "netlists/stack.hpp"

#include <algorithm>
#include <optional>

#include "netlists/part_kinds.hpp"

namespace firstglow::netlists {
namespace {

using core::NodeIndex;

/// A joint with the near ends of its two capacitors only.
std::optional<StackJoint> joint_at(const core::Rig& rig, NodeIndex node) {
  StackJoint joint;
  joint.node = node;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::Part& part = rig.parts[i];
    const std::vector<NodeIndex> ends = core::terminals(part);
    if (std::count(ends.begin(), ends.end(), node) == 0) {
      continue;
    }
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    if (capacitor == nullptr) {
      if (std::holds_alternative<core::Resistor>(part.data) ||
          std::holds_alternative<core::ResistiveLoad>(part.data)) {
        continue;
      }
      return std::nullopt;
    }
    if (!is_filter_capacitor(*capacitor) || capacitor->plus == capacitor->minus) {
      return std::nullopt;
    }
    const bool lies_above = capacitor->minus == node;
    const NodeIndex far = lies_above ? capacitor->plus : capacitor->minus;
    NodeIndex& end = lies_above ? joint.top : joint.bottom;
    if (end != core::kOpenNode && end != far) {
      return std::nullopt;
    }
    end = far;
    (lies_above ? joint.above : joint.below).push_back(static_cast<int>(i));
  }
  const bool both = joint.top != core::kOpenNode && joint.bottom != core::kOpenNode;
  return both && joint.top != joint.bottom ? std::optional(joint) : std::nullopt;
}

/// End of the stack, walking from joint to joint in one direction.
NodeIndex end_of(const std::vector<StackJoint>& joints, NodeIndex from,
                 NodeIndex StackJoint::*direction) {
  NodeIndex node = from;
  for (std::size_t steps = 0; steps < joints.size(); ++steps) {
    const auto next = std::find_if(joints.begin(), joints.end(),
                                   [&](const StackJoint& joint) { return joint.node == node; });
    if (next == joints.end()) {
      break;
    }
    node = (*next).*direction;
  }
  return node;
}

}  // namespace

std::vector<StackJoint> stack_joints(const core::Rig& rig) {
  std::vector<StackJoint> near;
  for (NodeIndex node = 1; node < static_cast<NodeIndex>(rig.nodes.size()); ++node) {
    if (const std::optional<StackJoint> joint = joint_at(rig, node)) {
      near.push_back(*joint);
    }
  }
  std::vector<StackJoint> joints = near;
  for (StackJoint& joint : joints) {
    joint.top = end_of(near, joint.top, &StackJoint::top);
    joint.bottom = end_of(near, joint.bottom, &StackJoint::bottom);
  }
  return joints;
}

}  // namespace firstglow::netlists
