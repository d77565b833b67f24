#pragma once
/// @file
/// What do the JSON answers of all commands share? Format: docs/output.schema.json.

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/cautions.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

using Json = nlohmann::ordered_json;

/// Version of the output format; raised when a key changes its meaning or goes away.
inline constexpr int kJsonFormat = 1;

/// format, command, rig, verdict, cautions.
[[nodiscard]] Json json_head(const core::Rig& rig, Topic topic,
                             std::optional<core::Verdict> verdict);

/// The finite number, or null when it is not known.
/// @throws ContractError  when a value is not finite (all functions of this header).
[[nodiscard]] Json json_number(double value);
[[nodiscard]] Json json_number(const std::optional<double>& value);
[[nodiscard]] Json json_numbers(const std::vector<double>& values);
[[nodiscard]] Json json_band(const Band& band);
/// The text, or null when it is empty.
[[nodiscard]] Json json_text(const std::string& text);
[[nodiscard]] Json json_findings(const std::vector<core::Finding>& findings);

/// Indented text, ASCII only, ended by a line break; broken UTF-8 becomes U+FFFD.
[[nodiscard]] std::string json_lines(const Json& document);

}  // namespace firstglow::sim
