#pragma once
/// @file
/// How is the answer of `age` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/age.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict age_verdict(const AgeResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string age_text(const core::Rig& rig, const AgeResult& result,
                                   const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string age_json(const core::Rig& rig, const AgeResult& result);

/// One row per can.
[[nodiscard]] std::string age_csv(const AgeResult& result);

}  // namespace firstglow::sim
