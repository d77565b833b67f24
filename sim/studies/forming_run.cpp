#include "sim/studies/forming_run.hpp"

#include <algorithm>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

OdeTolerance forming_tolerance() {
  OdeTolerance tolerance;
  tolerance.relative = 1e-4;
  tolerance.absolute = {0.01, 0.01, 0.01};
  tolerance.longest_step_s = 300.0;
  return tolerance;
}

core::OxideState state_of(const std::vector<double>& y) {
  // A trial step of the solver may leave the range of the law; its result is then refused.
  return {core::Volts(std::max(y[1], 1e-3)), core::Kelvin(y[2])};
}

}  // namespace

FormingRun::FormingRun(const core::OxideCan& can, core::Farads capacitance, core::OxideState start,
                       core::Kelvin air)
    : can_(can),
      capacitance_f_(capacitance.si()),
      air_(air),
      y_{0.0, start.formed.si(), start.can.si()} {
  FIRSTGLOW_REQUIRE(capacitance_f_ > 0.0 && y_[1] > 0.0, "a can that forms has farads and volts");
  points_.push_back(point_of(0.0, y_, FormingSource{0.0, 1.0}));
}

FormingPoint FormingRun::point_of(double time_s, const std::vector<double>& y,
                                  const FormingSource& source) const {
  // What the meter in the lead shows: leakage and what still charges the can.
  return {time_s, source.open_v, y[0], (source.open_v - y[0]) / source.ohm, y[1], y[2]};
}

void FormingRun::run(const FormingSource& source, double seconds,
                     const std::function<bool(const FormingPoint&)>& stop) {
  FIRSTGLOW_REQUIRE(source.ohm > 0.0, "a forming source has ohms");
  const OdeRate rate = [&](double, const std::vector<double>& y) -> std::vector<double> {
    const core::OxideState state = state_of(y);
    const core::Volts across(y[0]);
    const core::OxideRate moved = core::oxide_rate(can_, state, across, air_);
    const double leak_a = core::leakage(can_, state, across).total().si();
    return {((source.open_v - y[0]) / source.ohm - leak_a) / capacitance_f_, moved.formed_v_per_s,
            moved.can_k_per_s};
  };
  const double from_s = now().time_s;
  bool first = true;
  const OdeEnd end = integrate(rate, y_, from_s, from_s + seconds, forming_tolerance(),
                               [&](double time_s, const std::vector<double>& y) {
                                 const FormingPoint point = point_of(time_s, y, source);
                                 points_.push_back(point);
                                 const bool go_on = first || !stop || !stop(point);
                                 first = false;
                                 return go_on;
                               });
  y_ = end.y;
}

double FormingRun::current_at(double time_s) const {
  const auto later =
      std::upper_bound(points_.begin(), points_.end(), time_s,
                       [](double t, const FormingPoint& point) { return t < point.time_s; });
  if (later == points_.end()) {
    return points_.back().current_a;
  }
  if (later == points_.begin()) {
    return later->current_a;
  }
  const FormingPoint& before = *(later - 1);
  const double share = (time_s - before.time_s) / (later->time_s - before.time_s);
  return before.current_a + share * (later->current_a - before.current_a);
}

}  // namespace firstglow::sim
