#pragma once
/// @file
/// How is the answer of `margins` said, on paper, to other programs, and as numbers to plot?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/margins.hpp"

namespace firstglow::sim {

/// Worst verdict of the whole answer; a failed run counts as no verdict.
[[nodiscard]] core::Verdict margins_verdict(const MarginsResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string margins_text(const core::Rig& rig, const MarginsResult& result,
                                       const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string margins_json(const core::Rig& rig, const MarginsResult& result);

/// Waveforms, one point a row: trace,unit,time_s,value. RFC 4180.
[[nodiscard]] std::string margins_csv(const MarginsResult& result);

}  // namespace firstglow::sim
