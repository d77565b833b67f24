#include "sim/studies/walk_steps.hpp"

namespace firstglow::sim {
namespace {

constexpr double kFirstSecond = 1e-5;
constexpr double kFirstStepShare = 0.03;  ///< of the time

}  // namespace

WalkSteps steps_of_walk(const WalkGrid& grid) {
  WalkSteps steps;
  steps.add(kFirstSecond);
  double step_s = kFirstStepShare * kFirstSecond;
  while (steps.time_s.back() < kForeverSeconds) {
    const double last_s = steps.time_s.back();
    const bool early = last_s < grid.swing_until_s;
    const double most_s = (early ? kShortStepShare : kLongStepShare) * last_s;
    if (early && most_s > grid.swing_step_s) {
      step_s = grid.swing_step_s;
    } else if (2.0 * step_s <= most_s) {
      step_s *= 2.0;
    }
    steps.add(step_s);
  }
  return steps;
}

}  // namespace firstglow::sim
