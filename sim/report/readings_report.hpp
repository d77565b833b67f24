#pragma once
/// @file
/// How is the answer of `readings` said, on paper and to other programs?

#include <string>

#include "core/rig.hpp"
#include "sim/report/sheet/judged_blanks.hpp"
#include "sim/report/shown_text.hpp"

namespace firstglow::sim {

/// For people: what is beyond a limit first, then step by step. Every line fits the page.
[[nodiscard]] std::string readings_text(const core::Rig& rig, const ReadingsResult& result,
                                        const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string readings_json(const core::Rig& rig, const ReadingsResult& result);

}  // namespace firstglow::sim
