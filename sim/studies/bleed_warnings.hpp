#pragma once
/// @file
/// What must a person know about the discharge that no limit judges?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/bleed.hpp"

namespace firstglow::sim {

/// Statements, worst first: charges that one open part leaves for ever, rebound above the limit,
/// charges behind a rectifier, supplies of the other polarity, each unit of a stack. `result` has
/// its cases and rebounds.
[[nodiscard]] std::vector<std::string> bleed_warnings(const core::Rig& rig,
                                                      const BleedResult& result,
                                                      const BleedOptions& options);

}  // namespace firstglow::sim
