#pragma once
/// @file
/// Which rated part is stressed how far, when, and by how much margin?

#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct MarginsOptions {
  int closing_angles = 12;  ///< angles tried over a whole cycle, 4 to 72
  Progress progress;
};

struct StressSurvey;

struct MarginsResult {
  std::vector<core::Finding> findings;  ///< worst margin first
  std::vector<std::string> situations;  ///< every situation run, in words
  std::vector<std::string> assumptions;
  std::vector<Trace> traces;  ///< the worst cold switch-on
};

/// The findings of a survey under the ratings of `rig`, worst margin first. The rig may differ from
/// the one surveyed in its ratings only.
[[nodiscard]] std::vector<core::Finding> judge_survey(const core::Rig& rig,
                                                      const StressSurvey& survey);

[[nodiscard]] MarginsResult margins(const core::Rig& rig, const MarginsOptions& options,
                                    WorkerPool& pool);

}  // namespace firstglow::sim
