#pragma once
/// @file
/// Which single faults does the bleeder test by the clock try?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/clock.hpp"

namespace firstglow::sim {

struct ClockCandidate {
  ClockFault fault = ClockFault::intact;
  std::string part;
  double low = 1.0, high = 1.0;  ///< range of the factor
};

/// Intact first; each discharge path open; each bleeder and equaliser from 10 % past the upper
/// end of its tolerance to 20 times its value; each capacitor of 0.25 uF or more from 0.05 of its
/// value to 10 % below the lower end of its tolerance.
[[nodiscard]] std::vector<ClockCandidate> clock_candidates(const core::Rig& rig);

/// "intact", "R3 open", "R3 drifted", "C1 low"
[[nodiscard]] std::string name_of(const ClockCandidate& candidate);

}  // namespace firstglow::sim
