#pragma once
/// @file
/// How is the answer of `lines` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/lines.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict lines_verdict(const LinesResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string lines_text(const core::Rig& rig, const LinesResult& result,
                                     const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string lines_json(const core::Rig& rig, const LinesResult& result);

/// Its table as numbers: RFC 4180.
[[nodiscard]] std::string lines_csv(const LinesResult& result);

}  // namespace firstglow::sim
