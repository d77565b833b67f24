#pragma once
/// @file
/// How does a record file become a validated Rig?

#include <string>
#include <string_view>

#include "core/rig.hpp"

namespace firstglow::core {

/// Largest record file accepted [bytes].
inline constexpr std::size_t kLargestRecordFile = std::size_t{1024} * 1024;

/// Read and validate a record file (format: docs/records.md).
/// @throws InputError with every fault of the file, in order of position.
[[nodiscard]] Rig read_rig_file(const std::string& path);

/// The same from text already in memory; `file` is used in messages only.
[[nodiscard]] Rig read_rig_text(std::string_view text, const std::string& file);

/// The JSON Schema (draft 2020-12) of the record format, made from the reader's own tables.
[[nodiscard]] std::string record_schema_json();

}  // namespace firstglow::core
