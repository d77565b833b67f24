#pragma once
/// @file
/// How is the answer of `stick` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/stick.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict stick_verdict(const StickResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string stick_text(const core::Rig& rig, const StickResult& result,
                                     const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string stick_json(const core::Rig& rig, const StickResult& result);

/// Volts with the stick on: trace,unit,time_s,value. RFC 4180.
[[nodiscard]] std::string stick_csv(const StickResult& result);

}  // namespace firstglow::sim
