#pragma once
/// @file
/// How is the answer of `swap` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/swap.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict swap_verdict(const SwapResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string swap_text(const core::Rig& rig, const SwapResult& result,
                                    const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string swap_json(const core::Rig& rig, const SwapResult& result);

/// Its table as numbers: RFC 4180.
[[nodiscard]] std::string swap_csv(const SwapResult& result);

}  // namespace firstglow::sim
