#pragma once
/// @file
/// How is an exported circuit handed to other programs?

#include <string>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

/// docs/output.schema.json, ASCII only.
[[nodiscard]] std::string netlist_json(const core::Rig& rig, const netlists::Situation& situation,
                                       const std::string& netlist);

}  // namespace firstglow::sim
