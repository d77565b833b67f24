#pragma once
/// @file
/// What flows at one closing angle, over the remanences the core may have been left with?

#include <utility>
#include <vector>

#include "sim/studies/inrush.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// What a fuse takes in a start.
struct FuseDuty {
  int part = -1;
  double i2t = 0.0;  ///< A^2 s over the whole start
};

struct AngleRun {
  InrushPoint point;
  std::vector<std::pair<int, double>> rectifier_peaks;  ///< part index, amps
  std::vector<FuseDuty> fuses;
  Trace trace;
};

/// Cold switch-on at the situation's closing angle: the first cycle in fine steps for a linear core
/// and for a saturating one with the worse of its two remanences, then the whole start with that.
/// Rectifier peaks are the worst of all runs: a core that saturates starves the rectifiers, so the
/// linear one gives the higher peak.
[[nodiscard]] AngleRun run_angle(Engine& engine, const core::Rig& rig,
                                 const netlists::Situation& situation);

/// How long a start is followed [s]: the first second, or longer for a late step start.
[[nodiscard]] double start_seconds(const core::Rig& rig);

}  // namespace firstglow::sim
