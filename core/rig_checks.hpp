#pragma once
/// @file
/// Do the parts of a record make one sound circuit?
///
/// Looks at connections and directions only, no volts are computed. What cannot be decided so is
/// left to the simulation: a check that is in doubt says nothing.

#include <vector>

#include "core/rig.hpp"

namespace firstglow::core {

/// Every fault of the whole rig, with the place of the part or node at fault.
[[nodiscard]] std::vector<InputFault> check_rig(const Rig& rig);

}  // namespace firstglow::core
