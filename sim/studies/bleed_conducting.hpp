#pragma once
/// @file
/// How long do the capacitors take when charge passes on through a rectifier during the discharge?

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "sim/studies/bleed_islands.hpp"
#include "sim/studies/diode_discharge.hpp"

namespace firstglow::sim {

/// Longest times found with the diodes conducting, of one capacitor.
struct ConductingTimes {
  std::vector<std::optional<double>> time_s;  ///< by limit
  Corner corner;                              ///< of the longest for the first limit
  std::vector<double> start;                  ///< state it starts from there
  DiodeWalk walk;
  std::size_t state = 0;  ///< of this capacitor in `walk`
};

/// By part index, from the corners of the start box at tolerance corners: each part by itself, then
/// all that slow a capacitor down together. A search, not a bound: the caller also counts the
/// courses with every diode open, and lets ngspice run the worst ones. Empty when the diodes gave
/// no course.
[[nodiscard]] std::optional<std::map<int, ConductingTimes>> conducting_times(
    const BleedCircuit& circuit, const std::set<std::string>& lifted, BleedStart from);

}  // namespace firstglow::sim
