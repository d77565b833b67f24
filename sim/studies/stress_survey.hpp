#pragma once
/// @file
/// Over all situations that can hurt: what is the worst each part sees, and when?

#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct WorstStress {
  double value = 0.0;
  double at_s = 0.0;
  bool transient = false;
  std::string situation;
};

/// Part index, winding index, rule.
using StressKey = std::tuple<int, int, StressRule>;

struct StressSurvey {
  std::map<StressKey, WorstStress> worst;
  std::vector<std::string> situations;  ///< families of situations run, in words
  std::vector<std::string> failures;    ///< runs that gave no answer, in words
  double worst_angle_deg = 0.0;         ///< closing angle of the highest capacitor peak
};

/// Situations: at high line, every stage from `filter` on in steady state; cold switch-on with
/// nothing drawing, and with cold heaters, at `closing_angles` angles over a whole cycle; sudden
/// loss of all loads from key down; the relay of a step start that never closes; what only matters
/// to tubes (sim/studies/tube_survey.hpp). Tolerances: each part low and high by itself, then for
/// every stress the corner of all parts that raise it (cold switch-on: at the angles that were
/// worst).
///
/// Like sections of a long stack are read off one another (stack_mirror.hpp).
///
/// Left out: corners that only hurt through two parts working against their single effects;
/// core saturation, leakage inductance; mains spikes from outside.
[[nodiscard]] StressSurvey survey_stresses(const core::Rig& rig, int closing_angles,
                                           const Progress& progress, WorkerPool& pool);

}  // namespace firstglow::sim
