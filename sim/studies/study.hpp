#pragma once
/// @file
/// What do all studies have in common? Readings, bands, traces, and where progress goes.

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace firstglow::sim {

/// Lowest, nominal and highest value of one reading over the stated spread.
struct Band {
  double low = 0.0;
  double nominal = 0.0;
  double high = 0.0;
};

/// One waveform kept for --csv: all traces of a study share no time base.
struct Trace {
  std::string name;  ///< e.g. "cold switch-on, 90 deg: B+"
  std::string unit;  ///< unit of `value`
  std::vector<double> time_s;
  std::vector<double> value;
};

/// Called as (jobs done, jobs in all) from any thread, one at a time; may be empty.
using Progress = std::function<void(int, int)>;

}  // namespace firstglow::sim
