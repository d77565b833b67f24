#pragma once
/// @file
/// At which points of time does a walk with diodes look?

#include <cstddef>
#include <vector>

#include "sim/studies/diode_discharge.hpp"

namespace firstglow::sim {

inline constexpr double kShortStepShare = 0.04;  ///< of the time, while something may swing
inline constexpr double kLongStepShare = 0.05;   ///< afterwards

/// The points of time of a walk, and the step that leads to each.
struct WalkSteps {
  std::vector<double> time_s{0.0};
  std::vector<double> step_s{0.0};
  std::vector<std::size_t> length{0};  ///< a number for each length of step

  /// One step more.
  void add(double seconds) {
    length.push_back(length.back() + (seconds == step_s.back() ? 0 : 1));
    step_s.push_back(seconds);
    time_s.push_back(time_s.back() + seconds);
  }
};

/// From 0 to kForeverSeconds: fine at first, then often enough for the swings of a choke, then
/// longer. Steps grow by doubling: the propagator of a length is made once.
[[nodiscard]] WalkSteps steps_of_walk(const WalkGrid& grid);

}  // namespace firstglow::sim
