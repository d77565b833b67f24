#include "sim/studies/clock_match.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

constexpr double kFaintVolts = 1e-12;
constexpr double kMostStretch = 4.0;  ///< standard deviations
constexpr int kScan = 24;
constexpr int kNarrowings = 40;

ClockMatch match_at(const ClockData& data, const FallShape& shape, double ln_stretch) {
  std::vector<double> times;
  for (const double time_s : data.time_s) {
    times.push_back(time_s / std::exp(ln_stretch));
  }
  ClockMatch match;
  match.stretch = std::exp(ln_stretch);
  match.volts = shape(times);
  double weights = 0.0, lift = 0.0;
  for (std::size_t k = 0; k < data.volts.size(); ++k) {
    const double weight = 1.0 / (data.error[k] * data.error[k]);
    lift += weight * std::log(data.volts[k] / std::max(match.volts[k], kFaintVolts));
    weights += weight;
  }
  lift /= weights;
  for (std::size_t k = 0; k < data.volts.size(); ++k) {
    match.volts[k] = std::max(match.volts[k], kFaintVolts) * std::exp(lift);
    const double off = std::log(data.volts[k] / match.volts[k]) / data.error[k];
    match.off += off * off;
  }
  return match;
}

}  // namespace

std::optional<double> effective_rc(const std::vector<double>& time_s,
                                   const std::vector<double>& volts) {
  double mean_t = 0.0, mean_y = 0.0;
  const double count = static_cast<double>(time_s.size());
  for (std::size_t k = 0; k < time_s.size(); ++k) {
    mean_t += time_s[k] / count;
    mean_y += std::log(volts[k]) / count;
  }
  double tt = 0.0, ty = 0.0;
  for (std::size_t k = 0; k < time_s.size(); ++k) {
    tt += (time_s[k] - mean_t) * (time_s[k] - mean_t);
    ty += (time_s[k] - mean_t) * (std::log(volts[k]) - mean_y);
  }
  return ty < 0.0 ? std::optional(-tt / ty) : std::nullopt;
}

double lowest_point(const std::function<double(double)>& f, double low, double high) {
  // A scan first, for the valley may be narrow; then golden sections about the lowest point.
  double best = low, best_value = f(low);
  const double step = (high - low) / kScan;
  for (int k = 1; k <= kScan; ++k) {
    const double value = f(low + k * step);
    if (value < best_value) {
      best = low + k * step;
      best_value = value;
    }
  }
  double a = std::max(best - step, low), b = std::min(best + step, high);
  const double golden = 0.5 * (std::sqrt(5.0) - 1.0);
  double c = b - golden * (b - a), d = a + golden * (b - a);
  double at_c = f(c), at_d = f(d);
  for (int k = 0; k < kNarrowings && b - a > 1e-6; ++k) {
    if (at_c < at_d) {
      b = d;
      d = c;
      at_d = at_c;
      c = b - golden * (b - a);
      at_c = f(c);
    } else {
      a = c;
      c = d;
      at_c = at_d;
      d = a + golden * (b - a);
      at_d = f(d);
    }
  }
  return 0.5 * (a + b);
}

ClockMatch match_fall(const ClockData& data, const FallShape& shape, const StretchRoom& room) {
  FIRSTGLOW_REQUIRE(data.time_s.size() >= 2 && data.error.size() == data.time_s.size() &&
                        data.volts.size() == data.time_s.size(),
                    "a clock test has two readings or more");
  if (!(room.sigma > 0.0)) {
    return match_at(data, shape, room.centre);
  }
  const auto price = [&](double ln_stretch) {
    const double away = (ln_stretch - room.centre) / room.sigma;
    return match_at(data, shape, ln_stretch).off + away * away;
  };
  const double found = lowest_point(price, room.centre - kMostStretch * room.sigma,
                                    room.centre + kMostStretch * room.sigma);
  ClockMatch match = match_at(data, shape, found);
  match.off = price(found);
  return match;
}

}  // namespace firstglow::sim
