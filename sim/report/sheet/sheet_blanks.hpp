#pragma once
/// @file
/// Which numbers, ticks and words are to be filled in on the step pages of a rig's sheet?

#include <optional>
#include <string>
#include <vector>

#include "sim/report/sheet/blank.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// All that is to be filled in on one step of one pass. Ids do not change from run to run as long
/// as stages, steps and node names do not.
struct StepBlanks {
  std::size_t pass = 0, step = 0;  ///< indices into RampupResult::passes and RampPass::steps
  std::string stage;               ///< as in ids, e.g. "tubes-out"
  bool with_lamp = false;
  double variac_vrms = 0.0;  ///< the step
  std::string failure;       ///< not empty: no prediction, no blanks; do not go there
  bool refused = false;      ///< the failure is a rule
  /// The variac output as read, which the checks per volt are made with. Not judged itself.
  std::optional<Blank> setting;
  /// Mains A and W, lamp V, each DC node with the AC on it, joints of series capacitors; before
  /// the filter the AC of winding ends.
  std::vector<Blank> readings;
  std::vector<Words> words;  ///< remarks of this step
};

/// What is ticked and signed once per pass.
struct PassBlanks {
  std::size_t pass = 0;
  std::string stage;
  bool with_lamp = false;
  std::vector<Tick> gates;   ///< to be ticked before the first step
  std::vector<Tick> end;     ///< off, measured, hooked
  std::vector<Words> words;  ///< initials of operator and watcher, time
};

[[nodiscard]] std::vector<StepBlanks> step_blanks(const RampupResult& result);
[[nodiscard]] std::vector<PassBlanks> pass_blanks(const RampupResult& result);

/// "tubes-out/lamp" or "tubes-out/no-lamp": the first two parts of a pass's ids.
[[nodiscard]] std::vector<std::string> pass_id(const RampPass& pass);

}  // namespace firstglow::sim
