#pragma once
/// @file
/// How long do the capacitors take when charge passes on through a rectifier during the discharge?

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "sim/studies/bleed_islands.hpp"
#include "sim/studies/diode_discharge.hpp"

namespace firstglow::sim {

/// One discharge with the diodes conducting.
struct ConductingCourse {
  Corner corner;
  std::vector<double> start;  ///< state it starts from
  std::shared_ptr<const DiodeWalk> walk;
  std::size_t state = 0;  ///< of the capacitor it is kept for
};

/// Longest times found with the diodes conducting, of one capacitor.
struct ConductingTimes {
  std::vector<std::optional<double>> time_s;  ///< by limit
  ConductingCourse course;                    ///< the longest for the first limit
};

/// Times with the diodes conducting are those of limits lower by the one, and longer by the other.
/// Sizes from tests/optimism.
inline constexpr double kConductingGuardVolts = 0.9;
inline constexpr double kConductingGuardTime = 1.1;

/// By part index. Every corner of the start box is walked at nominal values, with each tolerance by
/// itself, and then, for every limit of every capacitor, uphill from the corner that set its time:
/// to the tolerances that leave more volts at that time, until none leaves more. (The time itself
/// jumps: where a capacitor is charged again behind a rectifier, it may pass a limit twice.) A
/// search, not a bound, with a guard three times that of the courses without diodes; the caller
/// also counts those, and lets ngspice run the worst ones. Empty when the diodes gave no course.
[[nodiscard]] std::optional<std::map<int, ConductingTimes>> conducting_times(
    const BleedCircuit& circuit, const std::set<std::string>& lifted, BleedStart from);

}  // namespace firstglow::sim
