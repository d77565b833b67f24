#pragma once
/// @file
/// Which ways can the discharge go: paths intact, nominal, and each path open in turn?

#include <string>
#include <vector>

#include "sim/studies/bleed.hpp"
#include "sim/studies/bleed_islands.hpp"

namespace firstglow::sim {

/// A case with what was needed to find it.
struct WorkedCase {
  DischargeCase shown;
  std::set<Corner> corners;        ///< nominal, and the slowest of each capacitor
  double largest_forward_v = 0.0;  ///< of any diode, on the linear courses of the case
  bool changes_a_time = true;      ///< differs from the intact case by more than 1 %
};

/// Forward volts from which on a diode no longer counts as blocked [V].
inline constexpr double kBlockedVolts = 0.3;

/// Parts that could lead a charge away and could fail open: resistors, chokes, fuses and loads
/// drawn `always`.
[[nodiscard]] std::vector<std::string> discharge_paths(const core::Rig& rig);

/// Case with every path intact; `islands` gets what it was made of. A capacitor whose start is not
/// known makes the case a failure.
[[nodiscard]] WorkedCase intact_case(const BleedCircuit& circuit, bool with_corners,
                                     std::vector<BleedIsland>& islands);

/// Case with one path open, against the intact islands.
[[nodiscard]] WorkedCase open_case(const BleedCircuit& circuit, const std::string& path,
                                   const std::vector<BleedIsland>& intact);

/// Takes every answer out of a case and says why.
void fail_case(DischargeCase& shown, const std::string& why);

/// Longest finite time of the first limit in a case; 0 when there is none.
[[nodiscard]] double longest_limit_s(const DischargeCase& shown);

}  // namespace firstglow::sim
