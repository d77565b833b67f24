#pragma once
/// @file
/// Which rating is a stress held against, and what does the finding say?

#include <optional>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/studies/stress_survey.hpp"

namespace firstglow::sim {

/// The finding for one stress; empty for rules that are only applied when the record gives the
/// rating (ripple current, repetitive peak, insulation volts, variac current).
///
/// A missing rating gives "no verdict" and says which key of the record to fill in. Within the
/// rating is "safe" in the sense of core::Verdict: the part, not the person.
[[nodiscard]] std::optional<core::Finding> judge(const core::Rig& rig, const StressKey& key,
                                                 const WorstStress& worst);

}  // namespace firstglow::sim
