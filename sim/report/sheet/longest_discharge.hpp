#pragma once
/// @file
/// How long does one capacitor stay charged, over all cases of a kind?

#include <optional>
#include <string>

#include "sim/studies/bleed.hpp"

namespace firstglow::sim {

enum class DischargePaths { intact, one_open };

struct LongestDischarge {
  bool answered = false;         ///< at least one case speaks of the capacitor
  bool failed = false;           ///< at least one case has no answer: nothing may be relied on
  std::optional<double> time_s;  ///< below the first limit; empty: never
  std::string case_name;
};

[[nodiscard]] LongestDischarge longest_discharge(const BleedResult& bleed, const std::string& part,
                                                 DischargePaths paths);

/// "47 s", "never", "NO ANSWER: treat as charged".
[[nodiscard]] std::string discharge_words(const LongestDischarge& longest);

/// Highest volts at switch-off over all cases [V]; empty when a case has no answer, which may be
/// the one that goes higher.
[[nodiscard]] std::optional<double> start_volts(const BleedResult& bleed, const std::string& part);

}  // namespace firstglow::sim
