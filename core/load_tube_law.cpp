#include "core/load_tube_law.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/error.hpp"

namespace firstglow::core {
namespace {

constexpr double kCutoffTails = 3.0;
constexpr double kUsualKneeShare = 0.06;  ///< of the screen volts: common practice, no source
constexpr int kBisections = 200;

double foot(double x, double tail_v) {
  const double tails = std::min(x / tail_v, kMostTails);
  return tail_v * std::log1p(std::exp(tails)) + std::max(0.0, x - kMostTails * tail_v);
}

double foot_slope(double x, double tail_v) { return 1.0 / (1.0 + std::exp(-x / tail_v)); }

/// The x at which s'(x) / s(x) has the value wanted; the ratio falls as x rises.
double x_for_ratio(double ratio, double tail_v) {
  double low = -40.0 * tail_v;
  double high = 2.0 / ratio + tail_v;
  for (int i = 0; i < kBisections; ++i) {
    const double middle = 0.5 * (low + high);
    (foot_slope(middle, tail_v) / foot(middle, tail_v) > ratio ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace

void split_through(const ClassAPoint& point, TubeLaw& law) {
  const double on_plate = point.plate_a / (point.plate_a + point.screen_a);
  const double half_turn = 0.5 * std::numbers::pi;
  // no wider a knee than lets the share reach the published one
  law.knee_v = std::min(kUsualKneeShare * point.screen_v,
                        0.999 * point.plate_v / std::tan(half_turn * std::min(on_plate, 0.999)));
  law.plate_share = std::min(1.0, on_plate / (std::atan(point.plate_v / law.knee_v) / half_turn));
}

TubeLaw law_through(const ClassAPoint& point, double tail_v) {
  FIRSTGLOW_REQUIRE(point.plate_v > 0.0 && point.plate_a > 0.0 && point.gm_s > 0.0,
                    "a tube's point has plate volts, plate amps and gm above 0");
  FIRSTGLOW_REQUIRE(point.mu > 0.0 && point.screen_v >= 0.0 && point.screen_a >= 0.0,
                    "a tube's point has mu above 0 and no negative screen");
  const double ratio = point.gm_s / (1.5 * point.plate_a);
  FIRSTGLOW_REQUIRE(tail_v > 0.0 && tail_v * ratio < 1.0,
                    "a tube's foot is narrower than 1.5 plate amps over gm");
  TubeLaw law;
  law.mu = point.mu;
  law.tail_v = tail_v;
  const bool triode = point.screen_v == 0.0;
  double on_plate = 1.0;
  if (!triode) {
    split_through(point, law);
    on_plate = share_on_plate(law, point.plate_v);
  }
  const double x = x_for_ratio(ratio, tail_v);
  const double control_v = triode ? point.plate_v : point.screen_v;
  law.offset_v = x - point.grid_v - control_v / point.mu;
  law.perveance = point.plate_a / on_plate / std::pow(foot(x, tail_v), 1.5);
  return law;
}

double space_current_a(const TubeLaw& law, double grid_v, double control_v) {
  return law.perveance *
         std::pow(foot(grid_v + control_v / law.mu + law.offset_v, law.tail_v), 1.5);
}

double share_on_plate(const TubeLaw& law, double plate_v) {
  return law.plate_share * 2.0 / std::numbers::pi * std::atan(std::max(0.0, plate_v) / law.knee_v);
}

double cutoff_grid_v(const TubeLaw& law, double control_v) {
  return -control_v / law.mu - law.offset_v - kCutoffTails * law.tail_v;
}

}  // namespace firstglow::core
