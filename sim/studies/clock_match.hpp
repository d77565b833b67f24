#pragma once
/// @file
/// How well does one predicted fall agree with readings of unknown height?

#include <functional>
#include <optional>
#include <vector>

namespace firstglow::sim {

/// Volts at given times, up to a factor.
using FallShape = std::function<std::vector<double>(const std::vector<double>& time_s)>;

struct ClockData {
  std::vector<double> time_s, volts;
  std::vector<double> error;  ///< standard deviation of ln volts
};

/// How the time scale may stretch: ln(stretch) is normal.
struct StretchRoom {
  double centre = 0.0;  ///< of ln(stretch)
  double sigma = 0.0;   ///< 0: held at the centre
};

struct ClockMatch {
  double off = 0.0;
  double stretch = 1.0;
  std::vector<double> volts;  ///< scaled to the readings
};

/// The best stretch and height, and what is left.
[[nodiscard]] ClockMatch match_fall(const ClockData& data, const FallShape& shape,
                                    const StretchRoom& room);

/// Minus the slope of time against ln volts, by least squares [s]; empty when the volts do not
/// fall.
[[nodiscard]] std::optional<double> effective_rc(const std::vector<double>& time_s,
                                                 const std::vector<double>& volts);

/// Where `f` is least between low and high, which it has one valley in.
[[nodiscard]] double lowest_point(const std::function<double(double)>& f, double low, double high);

}  // namespace firstglow::sim
