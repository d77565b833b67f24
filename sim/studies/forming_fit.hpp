#pragma once
/// @file
/// Which forming currents fit what was read, how likely is each, and is the current rising?

#include <optional>
#include <vector>

namespace firstglow::sim {

struct FormingSeries {
  std::vector<double> time_s;  ///< rising
  std::vector<double> amps;    ///< > 0, as many
};

/// One current that may be behind the readings:
///
///     i(t) = stays + falls s(t),  (1/s - 1) + k ln(1/s) = (1 + k) (t - t_1)/tau.
///
/// It is the oxide law at constant volts (k = 0: falls as 1/t) behind a resistor (large k: falls
/// exponentially as long as the resistor takes the volts); k = falls R B / V. Worked out from
/// core/oxide_law.hpp with constant temperature; capacitor charging left out.
struct FormingCurve {
  double stays_a = 0.0, falls_a = 0.0, tau_s = 0.0, bend = 0.0;
  double from_s = 0.0;  ///< t_1
  double weight = 0.0;  ///< probability among all curves of the fit
  [[nodiscard]] double at(double time_s) const;
  /// Time at which it reaches a current; empty: never.
  [[nodiscard]] std::optional<double> time_of(double amps) const;
};

struct FormingFit {
  std::vector<FormingCurve> curves;  ///< weights sum to 1
  FormingCurve best;
  double noise = 0.0;  ///< relative standard deviation taken for a reading
};

/// Weighs curves on a grid of stays (log-even from `least_stay_a` to 1.05 of the lowest reading)
/// and bend, each with its best `falls` and `tau`, by how well they fit ln i; even prior weight on
/// the grid.
/// @param series_amps  V/(B R) of the source when known: the current at which the resistor and the
///                     film share a change alike (0.4 to 2.5 of that bend are tried, for B is not
///                     known well); empty: bends of 0 to 60
/// @param accuracy     relative standard deviation of a reading, at least; the scatter about the
///                     best curve counts when it is larger and there are six readings or more
[[nodiscard]] FormingFit fit_forming(const FormingSeries& series, double least_stay_a,
                                     std::optional<double> series_amps, double accuracy);

/// The steepest proven rise towards the end.
struct RiseFound {
  double share = 0.0;      ///< rise over the window, relative
  double from_s = 0.0;     ///< where the window begins
  double certainty = 0.0;  ///< slope over its standard error
};

/// Straight lines through ln i over the last 2, 3, ... all readings; a rise counts from 3.5
/// standard errors and 5 % on. The noise of a reading is taken from how readings scatter about
/// their neighbours (ten readings or more), between `accuracy` and 6 %.
[[nodiscard]] std::optional<RiseFound> find_rise(const FormingSeries& series, double accuracy);

}  // namespace firstglow::sim
