#include "sim/envelope/waveform_figures.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

/// Integral of f over the samples, f given the two ends of each straight piece.
template <class PieceIntegral>
double integrate(const std::vector<double>& time_s, PieceIntegral piece) {
  double sum = 0.0;
  for (std::size_t i = 1; i < time_s.size(); ++i) {
    sum += (time_s[i] - time_s[i - 1]) * piece(i - 1, i);
  }
  return sum;
}

double span_of(const std::vector<double>& time_s) {
  FIRSTGLOW_REQUIRE(time_s.size() >= 2, "a waveform has at least two samples");
  const double span_s = time_s.back() - time_s.front();
  FIRSTGLOW_REQUIRE(span_s > 0.0, "a waveform spans some time");
  return span_s;
}

}  // namespace

double mean_of(const SampledView& wave) {
  const auto& y = wave.value;
  const double area =
      integrate(wave.time_s, [&](std::size_t i, std::size_t j) { return 0.5 * (y[i] + y[j]); });
  return area / span_of(wave.time_s);
}

double square_integral_of(const SampledView& wave) {
  const auto& y = wave.value;
  // exact for straight pieces: (a^2 + a b + b^2) / 3
  return integrate(wave.time_s, [&](std::size_t i, std::size_t j) {
    return (y[i] * y[i] + y[i] * y[j] + y[j] * y[j]) / 3.0;
  });
}

double rms_of(const SampledView& wave) {
  return std::sqrt(square_integral_of(wave) / span_of(wave.time_s));
}

double ac_rms_of(const SampledView& wave) {
  const double mean = mean_of(wave);
  const double mean_square = square_integral_of(wave) / span_of(wave.time_s);
  return std::sqrt(std::max(0.0, mean_square - mean * mean));
}

double highest_of(const std::vector<double>& value) {
  return *std::max_element(value.begin(), value.end());
}

double lowest_of(const std::vector<double>& value) {
  return *std::min_element(value.begin(), value.end());
}

std::size_t index_of_peak(const std::vector<double>& value) {
  const auto peak = std::max_element(value.begin(), value.end(),
                                     [](double a, double b) { return std::abs(a) < std::abs(b); });
  return static_cast<std::size_t>(peak - value.begin());
}

double peak_magnitude_of(const std::vector<double>& value) {
  return std::abs(value[index_of_peak(value)]);
}

double mean_product_of(const std::vector<double>& time_s, const std::vector<double>& a,
                       const std::vector<double>& b) {
  // exact for straight pieces
  const double area = integrate(time_s, [&](std::size_t i, std::size_t j) {
    return (2.0 * a[i] * b[i] + a[i] * b[j] + a[j] * b[i] + 2.0 * a[j] * b[j]) / 6.0;
  });
  return area / span_of(time_s);
}

std::vector<double> difference_of(const std::vector<double>& a, const std::vector<double>& b) {
  FIRSTGLOW_REQUIRE(a.size() == b.size(), "two waves on the same time points");
  std::vector<double> result(a.size());
  std::transform(a.begin(), a.end(), b.begin(), result.begin(), std::minus<>());
  return result;
}

}  // namespace firstglow::sim
