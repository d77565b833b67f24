#pragma once
/// @file
/// What was understood of the record, what should an ohmmeter read with everything off, and what
/// is missing for which answer?

#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"

namespace firstglow::sim {

/// DC ohms from one node to the chassis, everything off, capacitors settled, tubes out.
struct OhmsReading {
  std::string node;
  /// Red lead on the node / black lead on the node; empty: open (above 100 Mohm).
  std::optional<double> red_ohm, black_ohm;
  /// Band of the red-lead reading over tolerance; equal to red_ohm when nothing has tolerance.
  std::optional<double> red_low_ohm, red_high_ohm;
  /// A rectifier conducts in that direction, so the reading depends on the meter's test volts.
  bool red_through_rectifier = false, black_through_rectifier = false;
};

/// One figure the program worked out from what the record gives.
struct DerivedFigure {
  std::string part;
  std::string name;  ///< in words, e.g. "core loss resistance"
  double value = 0.0;
  std::string unit;
  std::string how;  ///< formula or source in words
  bool assumed = false;
};

struct MissingItem {
  std::string part;
  std::string what;     ///< e.g. "working_volts"
  std::string answers;  ///< which answers become "no verdict" without it
};

struct NetLine {
  std::string node;
  std::vector<std::string> ends;  ///< e.g. "R3", "T1 plate end 1"
};

struct CheckResult {
  std::vector<NetLine> nets;
  std::vector<OhmsReading> ohms;
  std::vector<DerivedFigure> derived;
  std::vector<MissingItem> missing;
  std::vector<std::string> remarks;  ///< wiring remarks, e.g. a variac does not isolate
};

/// Needs no engine: closed forms and one linear network.
/// Left out: the meter's own loading and test volts; leakage of wet or dirty insulation, which
/// reads lower than predicted. A reading outside the band is a reason to stop, not a verdict.
[[nodiscard]] CheckResult check_rig(const core::Rig& rig);

}  // namespace firstglow::sim
