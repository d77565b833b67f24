#pragma once
/// @file
/// Where does a small stiff system of ordinary differential equations go in hours?

#include <functional>
#include <vector>

namespace firstglow::sim {

/// dy/dt at (time_s, y).
using OdeRate = std::function<std::vector<double>(double time_s, const std::vector<double>& y)>;

struct OdeTolerance {
  double relative = 1e-5;
  std::vector<double> absolute;  ///< one per state, > 0
  double longest_step_s = 600.0;
};

/// Called after the start and after every step with (time_s, y); false ends the run there.
using OdeWatch = std::function<bool(double time_s, const std::vector<double>& y)>;

struct OdeEnd {
  double time_s = 0.0;
  std::vector<double> y;
  int steps = 0;
};

/// Integrates from `start` at `from_s` to `to_s`.
///
/// Method: singly diagonally implicit Runge-Kutta of two stages and order 2, gamma = 1 - 1/sqrt 2,
/// which is L-stable: a mode that has died within a step stays dead, so that steps of minutes pass
/// over time constants of seconds. The step follows the difference to the embedded first-order
/// result, filtered by (1 - gamma h J)^-1. Newton with a difference Jacobian; made for up to ten
/// states.
///
/// @throws core::SimulationError when a step of a tenth of a nanosecond still finds no solution.
/// Source: R. Alexander's method, as in textbooks; worked out, and held against another integrator
/// in the tests.
[[nodiscard]] OdeEnd integrate(const OdeRate& rate, std::vector<double> start, double from_s,
                               double to_s, const OdeTolerance& tolerance, const OdeWatch& watch);

}  // namespace firstglow::sim
