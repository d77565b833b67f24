#pragma once
/// @file
/// Where do capacitors stand in series, so that their joint must share the volts?

#include <vector>

#include "core/rig.hpp"

namespace firstglow::netlists {

/// One joint of a stack of capacitors. A stack of three has two joints with one top and bottom.
struct StackJoint {
  core::NodeIndex node = core::kOpenNode;
  core::NodeIndex top = core::kOpenNode, bottom = core::kOpenNode;  ///< ends of the whole stack
  std::vector<int> above, below;  ///< capacitors (part indices) on either side of the joint
};

/// Joints in the order of the rig's nodes.
///
/// A joint is a node other than the chassis where two or more capacitors meet, each an
/// electrolytic or at least 0.25 uF, that lead to exactly two other nodes, and where nothing else
/// ends but resistors and loads. The top is the side the plus terminals of the capacitors look to.
/// Left out: a joint that also feeds a tube or a tapped winding (a doubler), because its volts
/// are not a matter of sharing alone.
[[nodiscard]] std::vector<StackJoint> stack_joints(const core::Rig& rig);

}  // namespace firstglow::netlists
