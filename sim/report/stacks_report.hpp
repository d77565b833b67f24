#pragma once
/// @file
/// How is the answer of `stacks` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/stacks.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict stacks_verdict(const StacksResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string stacks_text(const core::Rig& rig, const StacksResult& result,
                                      const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string stacks_json(const core::Rig& rig, const StacksResult& result);

/// The joint after an equaliser opened: waveform rows.
[[nodiscard]] std::string stacks_csv(const StacksResult& result);

}  // namespace firstglow::sim
