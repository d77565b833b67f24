#pragma once
/// @file
/// How is the answer of `inrush` said, on paper, to other programs, and as numbers to plot?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/inrush.hpp"

namespace firstglow::sim {

/// Worst verdict of the whole answer; a failed run counts as no verdict.
[[nodiscard]] core::Verdict inrush_verdict(const InrushResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string inrush_text(const core::Rig& rig, const InrushResult& result,
                                      const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string inrush_json(const core::Rig& rig, const InrushResult& result);

/// Waveforms, one point a row: trace,unit,time_s,value. RFC 4180.
[[nodiscard]] std::string inrush_csv(const InrushResult& result);

}  // namespace firstglow::sim
