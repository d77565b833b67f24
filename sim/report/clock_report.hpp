#pragma once
/// @file
/// How is the answer of the bleeder test by the clock said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/clock.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict clock_verdict(const ClockResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string clock_text(const core::Rig& rig, const ClockResult& result,
                                     const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string clock_json(const core::Rig& rig, const ClockResult& result);

/// Readings beside each explanation: `explanation,fits,tie,factor,rc_s,time_s,read_v,predicted_v`.
[[nodiscard]] std::string clock_csv(const ClockResult& result);

}  // namespace firstglow::sim
