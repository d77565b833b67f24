#pragma once
/// @file
/// Which readings are taken on every step of a stage, and where is the blank of one?

#include <string>
#include <vector>

#include "sim/report/sheet/sheet_blanks.hpp"

namespace firstglow::sim {

/// A reading that is taken on every step: its heading and the end of its ids.
struct WatchedReading {
  std::string heading;
  std::vector<std::string> tail;
};

/// Mains amps; lamp volts or mains watts; the main supply (before there is one: the winding end of
/// most volts); the joint of series cans, or else the supply of the other polarity. At most four;
/// the others are read at the last step only.
[[nodiscard]] std::vector<WatchedReading> columns_of_pass(const RampPass& pass,
                                                          const RampStep& step);

/// The id of a reading on a step.
[[nodiscard]] std::string reading_id(const RampPass& pass, const StepBlanks& step,
                                     const std::vector<std::string>& tail);
/// nullptr when the step has no such blank.
[[nodiscard]] const Blank* find_blank(const StepBlanks& step, const std::string& id);

}  // namespace firstglow::sim
