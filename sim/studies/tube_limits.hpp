#pragma once
/// @file
/// Which limit holds for a vr tube or a power tube, from where, and what does it mean?

#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/part_stress.hpp"

namespace firstglow::sim {

struct TubeLimit {
  std::optional<double> value;
  std::string source;
  std::string note;            ///< what the finding says beside its numbers
  bool only_if_known = false;  ///< no finding at all when the rating is unknown
  bool idle = false;           ///< the rule does not apply to this tube: no finding
};

[[nodiscard]] TubeLimit limit_of(const core::VrTube& tube, StressRule rule);
[[nodiscard]] TubeLimit limit_of(const core::PowerTube& tube, StressRule rule);

/// What margins takes for granted about the tubes of this rig, in words; nothing when it has none.
[[nodiscard]] std::vector<std::string> tube_assumptions(const core::Rig& rig);

}  // namespace firstglow::sim
