#pragma once
/// @file
/// Which cans and equalisers of a stack are over their ratings?

#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/studies/stacks.hpp"

namespace firstglow::sim {

/// At once against surge volts (working volts when none are marked), after hours against working
/// volts; without an equaliser, and without a rating, there is no verdict.
[[nodiscard]] std::vector<core::Finding> stack_findings(const core::Rig& rig,
                                                        const std::vector<StackAnswer>& stacks);

}  // namespace firstglow::sim
