#pragma once
/// @file
/// How is the answer of `rampup` said, on paper, to other programs, and as numbers to plot?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// Worst verdict of the whole answer; a failed run counts as no verdict.
[[nodiscard]] core::Verdict rampup_verdict(const RampupResult& result);

/// For people, the plan on a few sheets: per stage and step the mains, the limit to stop at and the
/// supply to watch. Every line fits the page and holds no control character.
[[nodiscard]] std::string rampup_text(const core::Rig& rig, const RampupResult& result,
                                      const TextStyle& style);

/// For people, everything: one sheet per stage and lamp with every node, stop limit and heat.
[[nodiscard]] std::string rampup_sheets_text(const core::Rig& rig, const RampupResult& result,
                                             const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string rampup_json(const core::Rig& rig, const RampupResult& result);

/// Readings, one a row: stage,lamp,variac_vrms,reading,unit,low,nominal,high. RFC 4180.
[[nodiscard]] std::string rampup_csv(const RampupResult& result);

}  // namespace firstglow::sim
