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
  /// A course on which a rectifier conducts: ngspice must find no longer time.
  struct Doubt {
    netlists::Situation situation;
    ChargeMoment start;
  };
  std::vector<Doubt> doubts;
  bool changes_a_time = true;  ///< longer than in the intact case by more than 1 %
};

/// Forward volts from which on a diode no longer counts as blocked [V].
inline constexpr double kBlockedVolts = 0.3;

/// Parts that could lead a charge away and could fail open: resistors, chokes, fuses and loads
/// drawn `always`.
[[nodiscard]] std::vector<std::string> discharge_paths(const core::Rig& rig);

/// Case with every path intact; `islands` gets what it was made of. A capacitor whose start is not
/// known makes the case a failure.
[[nodiscard]] WorkedCase intact_case(const BleedCircuit& circuit, BleedStart from,
                                     std::vector<BleedIsland>& islands);

/// Case with one path open, against the intact islands. `circuit` has the moments with the path
/// open beside all others.
[[nodiscard]] WorkedCase open_case(const BleedCircuit& circuit, const std::string& path,
                                   const std::vector<BleedIsland>& intact);

/// Takes every answer out of a case and says why.
void fail_case(DischargeCase& shown, const std::string& why);

/// Longest finite time of the first limit in a case; 0 when there is none.
[[nodiscard]] double longest_limit_s(const DischargeCase& shown);

/// The situation a discharge is run in: plug out, tubes out.
[[nodiscard]] netlists::Situation bleed_situation(const std::set<std::string>& lifted,
                                                  const Corner& corner);

}  // namespace firstglow::sim
