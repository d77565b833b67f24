#pragma once
/// @file
/// What does a steady run ask of a vr tube, or of the tubes that draw?

#include <vector>

#include "core/rig.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// Rules whose value must not fall below the limit. Their stress is the value with its sign turned,
/// so that larger is worse here too.
[[nodiscard]] bool is_floor(StressRule rule);

/// Highest and least current of the window, and volts reached before striking. A dark tube has a
/// least current of 0.
[[nodiscard]] std::vector<Stress> stresses_of(const core::VrTube& tube, const RigRun& run,
                                              int part);

/// Watts and volts of one of the parallel tubes, and volts across an open key.
///
/// A driven tube's plate turns into heat what of its input is not put out: the efficiency of its
/// driven point, or 60 % where the point gives no output (common practice gives 60 to 75 %; no
/// source). Loaded wrongly or off resonance it turns nearly all its input into heat.
/// Always the same stresses in the same order, 0 where one does not apply.
[[nodiscard]] std::vector<Stress> stresses_of(const core::PowerTube& tube, const RigRun& run,
                                              int part);

}  // namespace firstglow::sim
