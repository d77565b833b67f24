#pragma once
/// @file
/// What does one can do, minute by minute, on a source with some resistance?

#include <functional>
#include <vector>

#include "core/oxide_law.hpp"
#include "core/units.hpp"
#include "sim/studies/stiff_ode.hpp"

namespace firstglow::sim {

/// What feeds the can: volts without load, and the ohms behind them.
struct FormingSource {
  double open_v = 0.0;
  double ohm = 0.0;  ///< > 0
};

/// One moment of it.
struct FormingPoint {
  double time_s = 0.0;
  double supply_v = 0.0;  ///< FormingSource::open_v
  double can_v = 0.0, current_a = 0.0, formed_v = 0.0, can_k = 0.0;
};

/// A can that forms: holds its state from step to step.
///
/// Model: C dv/dt = (open_v - v)/ohm - i(v, v_f, T), and the oxide law (core/oxide_law.hpp) for the
/// film and the heat; three states, integrated by sim/studies/stiff_ode.hpp. This is where a plan
/// for hours on the bench ends; in a set the same law may be driven by the cycle means of the
/// envelope instead: only core::leakage() and core::oxide_rate() are needed for that.
/// Left out: dielectric absorption and gas, as in the law.
class FormingRun {
 public:
  FormingRun(const core::OxideCan& can, core::Farads capacitance, core::OxideState start,
             core::Kelvin air);

  /// Goes on for `seconds`, or until `stop` says so after a step of the solver.
  void run(const FormingSource& source, double seconds,
           const std::function<bool(const FormingPoint&)>& stop = {});

  [[nodiscard]] const FormingPoint& now() const { return points_.back(); }
  /// Every step of the solver since the start.
  [[nodiscard]] const std::vector<FormingPoint>& points() const { return points_; }
  /// Current drawn from the source at a time, on a straight line between steps.
  [[nodiscard]] double current_at(double time_s) const;

 private:
  [[nodiscard]] FormingPoint point_of(double time_s, const std::vector<double>& y,
                                      const FormingSource& source) const;

  core::OxideCan can_;
  double capacitance_f_;
  core::Kelvin air_;
  std::vector<double> y_;  ///< can volts, formed volts, kelvin
  std::vector<FormingPoint> points_;
};

}  // namespace firstglow::sim
