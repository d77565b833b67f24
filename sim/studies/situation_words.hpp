#pragma once
/// @file
/// How is a situation called in a report?

#include <string>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

/// e.g. "C1 low, R3 high"; empty for the nominal corner.
[[nodiscard]] std::string corner_words(const std::map<std::string, double>& corner);
/// e.g. "steady, key down, line 127 V rms, R3 low".
[[nodiscard]] std::string steady_words(const core::Rig& rig, const netlists::Situation& situation);
/// e.g. "cold switch-on, tubes out, line 127 V rms, closed at 90 deg, C1 low".
[[nodiscard]] std::string switch_on_words(const core::Rig& rig,
                                          const netlists::Situation& situation);

}  // namespace firstglow::sim
