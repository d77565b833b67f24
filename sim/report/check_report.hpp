#pragma once
/// @file
/// How is the answer of `check` said, on paper and to other programs?

#include <string>

#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/check.hpp"

namespace firstglow::sim {

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string check_text(const core::Rig& rig, const CheckResult& result,
                                     const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string check_json(const core::Rig& rig, const CheckResult& result);

}  // namespace firstglow::sim
