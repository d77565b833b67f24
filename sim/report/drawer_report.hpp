#pragma once
/// @file
/// How is the answer of `drawer` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/drawer.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict drawer_verdict(const DrawerResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string drawer_text(const core::Rig& rig, const DrawerResult& result,
                                      const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string drawer_json(const core::Rig& rig, const DrawerResult& result);

/// Its table as numbers: RFC 4180.
[[nodiscard]] std::string drawer_csv(const DrawerResult& result);

}  // namespace firstglow::sim
