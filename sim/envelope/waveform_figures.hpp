#pragma once
/// @file
/// What would a meter or a scope say of this waveform?
///
/// All figures treat the samples as joined by straight lines on their own, uneven time points.
/// At 200 points a cycle a sine's mean square comes out less than 1e-4 high.

#include <cstddef>
#include <vector>

namespace firstglow::sim {

/// Samples on their time points; both vectors have the same length, at least 2.
struct SampledView {
  const std::vector<double>& time_s;
  const std::vector<double>& value;
};

/// Mean over the time spanned (a DC meter).
[[nodiscard]] double mean_of(const SampledView& wave);
/// Root of the mean square (a true-RMS meter reading AC + DC).
[[nodiscard]] double rms_of(const SampledView& wave);
/// RMS of the part that is not DC (a true-RMS meter on AC, or behind a blocking capacitor).
[[nodiscard]] double ac_rms_of(const SampledView& wave);
/// Integral of the square over time, e.g. A^2 s.
[[nodiscard]] double square_integral_of(const SampledView& wave);
/// Largest and smallest sample, and the largest magnitude.
[[nodiscard]] double highest_of(const std::vector<double>& value);
[[nodiscard]] double lowest_of(const std::vector<double>& value);
[[nodiscard]] double peak_magnitude_of(const std::vector<double>& value);
/// Index of the sample of largest magnitude.
[[nodiscard]] std::size_t index_of_peak(const std::vector<double>& value);
/// Mean of the product of two waves on the same time points (watts from volts and amps).
[[nodiscard]] double mean_product_of(const std::vector<double>& time_s,
                                     const std::vector<double>& a, const std::vector<double>& b);
/// a - b, sample by sample.
[[nodiscard]] std::vector<double> difference_of(const std::vector<double>& a,
                                                const std::vector<double>& b);

}  // namespace firstglow::sim
