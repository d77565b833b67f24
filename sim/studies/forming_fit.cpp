#include "sim/studies/forming_fit.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

constexpr int kStays = 36;
constexpr double kFirstTaus[] = {0.03, 0.3, 3.0};  ///< of the span, from which the search goes
constexpr int kSearchSteps = 14;
constexpr double kUnknownBends[] = {0.0, 1.0, 4.0, 15.0, 60.0};
constexpr double kKnownBends[] = {0.4, 0.7, 1.0, 1.5, 2.5};  ///< of the one that R, B and V give
constexpr std::size_t kEnoughReadings = 6;
constexpr std::size_t kScatterReadings = 10;
constexpr double kMostNoise = 0.06;  ///< what looks like more is curvature
constexpr double kFreeParameters = 3.0;
constexpr double kProvenErrors = 3.5;
constexpr double kLeastRise = 0.05;

/// w = ln(1/s) from exp(w) - 1 + k w = b: convex and rising, so Newton comes down on it.
double fallen(double bend, double b) {
  double w = std::log1p(b);
  if (bend > 0.0) {
    w = std::min(w, b / bend);
  }
  for (int i = 0; i < 20; ++i) {
    const double step = (std::expm1(w) + bend * w - b) / (std::exp(w) + bend);
    w -= step;
    if (std::abs(step) < 1e-10 * (1.0 + w)) {
      break;
    }
  }
  return std::max(w, 0.0);
}

/// Values log-even from low to high.
std::vector<double> log_even(double low, double high, int count) {
  std::vector<double> values;
  values.reserve(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    values.push_back(low * std::pow(high / low, static_cast<double>(i) / (count - 1)));
  }
  return values;
}

class Fitter {
 public:
  explicit Fitter(const FormingSeries& series) : series_(series) {
    for (const double amps : series.amps) {
      log_a_.push_back(std::log(amps));
    }
  }

  /// Best `falls` and `tau` near those of the curve, and the sum of squares of ln i they leave:
  /// Gauss-Newton in ln falls and ln tau, damped.
  double search(FormingCurve& curve) const {
    double squares = squares_of(curve);
    double damping = 1e-3;
    for (int i = 0; i < kSearchSteps; ++i) {
      const FormingCurve moved = step_from(curve, damping);
      const double now = squares_of(moved);
      if (now < squares) {
        const bool settled = squares - now < 1e-9;
        curve = moved;
        squares = now;
        damping *= 0.2;
        if (settled) {
          break;
        }
      } else {
        damping *= 8.0;
      }
    }
    return squares;
  }

  /// The best of the searches from every first tau (in spans: the curve's own tau).
  double best_from_all(FormingCurve& curve) const {
    const FormingCurve first = curve;
    std::optional<double> least;
    for (const double share : kFirstTaus) {
      FormingCurve trial = first;
      trial.tau_s *= share;
      const double left = search(trial);
      if (!least || left < *least) {
        curve = trial;
        least = left;
      }
    }
    return *least;
  }

 private:
  [[nodiscard]] double squares_of(const FormingCurve& curve) const {
    double squares = 0.0;
    for (std::size_t k = 0; k < log_a_.size(); ++k) {
      const double off = log_a_[k] - std::log(curve.at(series_.time_s[k]));
      squares += off * off;
    }
    return squares;
  }

  [[nodiscard]] FormingCurve step_from(const FormingCurve& curve, double damping) const {
    double ff = 0.0, ft = 0.0, tt = 0.0, f = 0.0, t = 0.0;
    for (std::size_t k = 0; k < log_a_.size(); ++k) {
      const double b = (1.0 + curve.bend) * (series_.time_s[k] - curve.from_s) / curve.tau_s;
      const double w = fallen(curve.bend, b);
      const double part = curve.falls_a * std::exp(-w);
      const double off = log_a_[k] - std::log(curve.stays_a + part);
      const double by_fall = part / (curve.stays_a + part);
      const double by_tau = by_fall * b / (std::exp(w) + curve.bend);
      ff += by_fall * by_fall;
      ft += by_fall * by_tau;
      tt += by_tau * by_tau;
      f += by_fall * off;
      t += by_tau * off;
    }
    ff += damping * ff + 1e-12;
    tt += damping * tt + 1e-12;
    const double determinant = ff * tt - ft * ft;
    FormingCurve moved = curve;
    if (determinant > 0.0) {
      moved.falls_a *= std::exp(std::clamp((f * tt - t * ft) / determinant, -1.0, 1.0));
      moved.tau_s *= std::exp(std::clamp((t * ff - f * ft) / determinant, -1.0, 1.0));
    }
    return moved;
  }

  const FormingSeries& series_;
  std::vector<double> log_a_;
};

std::vector<double> bends_for(std::optional<double> series_amps, double falls_a) {
  if (series_amps) {
    std::vector<double> bends;
    for (const double share : kKnownBends) {
      bends.push_back(share * falls_a / *series_amps);
    }
    return bends;
  }
  return {std::begin(kUnknownBends), std::end(kUnknownBends)};
}

/// Median scatter of inner readings about the line through their neighbours, as a standard
/// deviation of one reading.
double neighbour_noise(const FormingSeries& series) {
  std::vector<double> off;
  for (std::size_t k = 1; k + 1 < series.amps.size(); ++k) {
    const double share =
        (series.time_s[k] - series.time_s[k - 1]) / (series.time_s[k + 1] - series.time_s[k - 1]);
    const double line =
        (1.0 - share) * std::log(series.amps[k - 1]) + share * std::log(series.amps[k + 1]);
    const double spread = std::sqrt(1.0 + share * share + (1.0 - share) * (1.0 - share));
    off.push_back(std::abs(std::log(series.amps[k]) - line) / spread);
  }
  std::nth_element(off.begin(), off.begin() + static_cast<std::ptrdiff_t>(off.size() / 2),
                   off.end());
  return 1.4826 * off[off.size() / 2];
}

/// Slope of ln i over readings first .. last, and its standard error for noise 1.
RiseFound line_from(const FormingSeries& series, std::size_t first, double noise) {
  const double count = static_cast<double>(series.amps.size() - first);
  double mean_t = 0.0, mean_y = 0.0;
  for (std::size_t k = first; k < series.amps.size(); ++k) {
    mean_t += series.time_s[k] / count;
    mean_y += std::log(series.amps[k]) / count;
  }
  double tt = 0.0, ty = 0.0;
  for (std::size_t k = first; k < series.amps.size(); ++k) {
    const double t = series.time_s[k] - mean_t;
    tt += t * t;
    ty += t * (std::log(series.amps[k]) - mean_y);
  }
  const double slope = ty / tt;
  return {std::expm1(slope * (series.time_s.back() - series.time_s[first])), series.time_s[first],
          slope * std::sqrt(tt) / noise};
}

}  // namespace

double FormingCurve::at(double time_s) const {
  const double b = (1.0 + bend) * std::max(time_s - from_s, 0.0) / tau_s;
  return stays_a + falls_a * std::exp(-fallen(bend, b));
}

std::optional<double> FormingCurve::time_of(double amps) const {
  if (amps <= stays_a) {
    return std::nullopt;
  }
  const double w = std::log(falls_a / (amps - stays_a));
  return w <= 0.0 ? from_s : from_s + tau_s * (std::expm1(w) + bend * w) / (1.0 + bend);
}

FormingFit fit_forming(const FormingSeries& series, double least_stay_a,
                       std::optional<double> series_amps, double accuracy) {
  FIRSTGLOW_REQUIRE(series.amps.size() >= 4 && series.amps.size() == series.time_s.size(),
                    "a forming fit has four readings or more");
  const Fitter fitter(series);
  const double lowest_a = *std::min_element(series.amps.begin(), series.amps.end());
  const double span_s = series.time_s.back() - series.time_s.front();
  FormingFit fit;
  std::vector<double> squares;
  for (const double stays_a :
       log_even(std::min(least_stay_a, 0.5 * lowest_a), 1.05 * lowest_a, kStays)) {
    const double falls_a = std::max(series.amps.front() - stays_a, 0.01 * stays_a);
    for (const double bend : bends_for(series_amps, falls_a)) {
      FormingCurve curve{stays_a, falls_a, span_s, bend, series.time_s.front(), 0.0};
      squares.push_back(fitter.best_from_all(curve));
      fit.curves.push_back(curve);
    }
  }
  const auto least = std::min_element(squares.begin(), squares.end());
  const double count = static_cast<double>(series.amps.size());
  fit.noise = accuracy;
  if (series.amps.size() >= kEnoughReadings) {
    fit.noise = std::max(accuracy, std::sqrt(*least / (count - kFreeParameters)));
  }
  double total = 0.0;
  for (std::size_t k = 0; k < squares.size(); ++k) {
    fit.curves[k].weight = std::exp(-0.5 * (squares[k] - *least) / (fit.noise * fit.noise));
    total += fit.curves[k].weight;
  }
  for (FormingCurve& curve : fit.curves) {
    curve.weight /= total;
  }
  fit.best = fit.curves[static_cast<std::size_t>(least - squares.begin())];
  return fit;
}

std::optional<RiseFound> find_rise(const FormingSeries& series, double accuracy) {
  FIRSTGLOW_REQUIRE(series.amps.size() >= 2, "a rise needs two readings");
  double noise = accuracy;
  if (series.amps.size() >= kScatterReadings) {
    noise = std::max(noise, std::min(neighbour_noise(series), kMostNoise));
  }
  std::optional<RiseFound> best;
  for (std::size_t first = series.amps.size() - 1; first-- > 0;) {
    const RiseFound line = line_from(series, first, noise);
    if (line.certainty >= kProvenErrors && line.share >= kLeastRise &&
        (!best || line.certainty > best->certainty)) {
      best = line;
    }
  }
  return best;
}

}  // namespace firstglow::sim
