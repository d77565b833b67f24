#pragma once
/// @file
/// How far above its mark may an old carbon resistor stand?

#include <string>
#include <vector>

#include "core/rig.hpp"

namespace firstglow::sim {

/// Carbon resistors age upward. New old stock marked 5 % read 10 to 20 % high [CARBON-AGEING]; the
/// upper end is the default. Single parts stand at four or five times their mark: only a meter
/// finds those, and the case "open" covers them.
inline constexpr double kCarbonDrift = 0.20;
/// Carbon composition was made up to this rating (common practice, no source); larger resistors
/// are wire wound and do not drift, they open.
inline constexpr double kLargestCarbonWatts = 2.0;

struct DriftedRig {
  core::Rig rig;
  std::vector<std::string> parts;  ///< designators of the resistors whose upper end was raised
};

/// The rig with the upper tolerance end of every resistor that may be carbon (2 W or less, or
/// watts not known) raised by `drift` on top of its tolerance. A resistor with a measured value
/// keeps its band: the meter has seen the drift.
///
/// Left out: carbon resistors that drift downward, which only shortens a discharge (safe side);
/// wire-wound parts that were replaced by carbon ones.
/// @param drift  as a fraction, 0 <= drift <= 10
[[nodiscard]] DriftedRig with_drift(const core::Rig& rig, double drift);

}  // namespace firstglow::sim
