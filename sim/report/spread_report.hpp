#pragma once
/// @file
/// How is the answer of `spread` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/spread.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict spread_verdict(const SpreadResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string spread_text(const core::Rig& rig, const SpreadResult& result,
                                      const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string spread_json(const core::Rig& rig, const SpreadResult& result);

/// Every draw: the file that a shard writes (sim/report/spread_file.hpp).
[[nodiscard]] std::string spread_csv(const SpreadResult& result);

}  // namespace firstglow::sim
