#pragma once
/// @file
/// How is the answer of `bleed` said, on paper, to other programs, and as numbers to plot?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/bleed.hpp"

namespace firstglow::sim {

/// Worst verdict of the whole answer; a failed run counts as no verdict.
[[nodiscard]] core::Verdict bleed_verdict(const BleedResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string bleed_text(const core::Rig& rig, const BleedResult& result,
                                     const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string bleed_json(const core::Rig& rig, const BleedResult& result);

/// Discharge curves, one point a row: trace,unit,time_s,value. RFC 4180.
[[nodiscard]] std::string bleed_csv(const BleedResult& result);

}  // namespace firstglow::sim
