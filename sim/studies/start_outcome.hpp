#pragma once
/// @file
/// What does one run say of the volts at switch-off?

#include <map>
#include <set>
#include <string>
#include <vector>

#include "netlists/situation.hpp"
#include "sim/studies/bleed.hpp"
#include "sim/studies/bleed_moments.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {

/// Steps per cycle: the volts of a run in these lie within kStartError of one in 400, to either
/// side (tests/studies/bleed_start_test.cpp). Every start is raised by as much, so that none is too
/// low.
inline constexpr int kStartSteps = 100;
inline constexpr double kStartError = 1.5e-3;  ///< of the volts
/// Steady: to 0.03 % of the largest volts.
inline constexpr SteadyEffort kStartEffort{kStartSteps, 3.0};

/// One steady situation or one switch-on.
struct StartOutcome {
  netlists::Situation situation;
  std::string words;
  std::vector<ChargeMoment> moments = {};
  std::map<int, double> peak_v = {};     ///< magnitude, by part index
  std::map<int, double> peak_at_s = {};  ///< of a switch-on
  std::map<int, BleederDuty> duty = {};  ///< of a steady situation
  std::string failure = {};              ///< not empty: the run gave no answer
};

/// The moments with their volts higher by kStartError.
[[nodiscard]] std::vector<ChargeMoment> raised(std::vector<ChargeMoment> moments);

/// Corners that raise a figure of the first outcome by more than one part, where each outcome
/// belongs to one of single_corners(parts); none when the first one failed. The figures: capacitor
/// volts, then bleeder volts and watts.
[[nodiscard]] std::set<Corner> combined_corners(const std::vector<std::string>& parts,
                                                const std::vector<StartOutcome>& outcomes);

}  // namespace firstglow::sim
