#pragma once
/// @file
/// Does a rectifier tube conduct at the heater volts this circuit gives it?
///
/// Rule (common practice, no source): at or below half of its rated heater volts a tube does not
/// conduct, from four fifths on it conducts fully; between the two it may or may not, and a
/// prediction has to cover both. Where a single answer is needed the tube is taken to conduct,
/// which errs to the side of more volts.

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

class RigRun;

inline constexpr double kColdShare = 0.5;
inline constexpr double kHotShare = 0.8;

enum class Conduction { none, uncertain, full };

struct HeaterState {
  std::string part;
  double heater_vrms = 0.0;
  double share = 0.0;  ///< of rated volts
  Conduction conduction = Conduction::full;
};

/// The rule above.
[[nodiscard]] Conduction conduction_at(double share_of_rated_volts);

/// Every rectifier tube in the circuit of the run, in the order of the rig. A tube that the run
/// was made without conducting is `none` whatever its heater volts.
[[nodiscard]] std::vector<HeaterState> heater_states(const core::Rig& rig, const RigRun& run,
                                                     const netlists::Situation& situation);

}  // namespace firstglow::sim
