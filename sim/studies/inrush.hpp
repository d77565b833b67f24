#pragma once
/// @file
/// What does the mains supply in the first cycle and the first second, by closing angle?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct InrushOptions {
  int closing_angles = 12;  ///< over a whole cycle, 4 to 72; two more beside the worst
  Progress progress;
};

struct InrushPoint {
  double angle_deg = 0.0;
  double remanence = 0.0;  ///< -1 or +1 times the largest: the one with the higher first peak
  double first_cycle_peak_a = 0.0;
  double first_cycle_rms_a = 0.0;
  double first_second_peak_a = 0.0;
  double first_second_rms_a = 0.0;
  double first_cycle_i2t = 0.0;   ///< A^2 s
  double first_second_i2t = 0.0;  ///< A^2 s
  double worst_rectifier_peak_a = 0.0;
  std::string worst_rectifier;
  std::string failure;
};

struct InrushResult {
  std::vector<InrushPoint> points;
  std::optional<double> steady_mains_a;  ///< key down, rms, for comparison
  std::vector<core::Finding> findings;   ///< fuse I2t, rectifier surge
  std::vector<std::string> assumptions;
  std::vector<Trace> traces;  ///< mains current at the worst angle
};

/// Angles: evenly over the cycle, then halfway to both neighbours of the one with the highest first
/// peak. The core saturates (netlists/transformer_model.hpp); "first second" is longer for a rig
/// with a late step start. Left out: a core left with flux by an earlier DC fault, which can exceed
/// the remanence of a normal switch-off (unsafe side).
[[nodiscard]] InrushResult inrush(const core::Rig& rig, const InrushOptions& options,
                                  WorkerPool& pool);

}  // namespace firstglow::sim
