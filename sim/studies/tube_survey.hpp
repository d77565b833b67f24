#pragma once
/// @file
/// What happens to regulators at low line, and to tubes without bias or with an open plate lead?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/part_stress.hpp"

namespace firstglow::sim {

/// Stresses of one run with the words for it; or why there is no answer.
struct TubeOutcome {
  std::vector<Stress> stresses;
  std::string words;
  std::string failure;
};

struct TubeSurvey {
  std::vector<TubeOutcome> outcomes;
  std::vector<std::string> situations;  ///< families of situations run, in words
};

/// Steady runs that only matter to vr tubes and power tubes:
///
/// * low line, every stage from `tubes_out` on, with each tolerance by itself and the corners that
///   starve a regulator most: least current and strike;
/// * high line, each power tube's grid put to the chassis (bias missing), tubes keyed down;
/// * high line, key down, the plate lead of each tube with a screen open.
///
/// The last two are faults, one at a time; their stresses carry rules of their own.
[[nodiscard]] TubeSurvey survey_tubes(const core::Rig& rig, WorkerPool& pool);

}  // namespace firstglow::sim
