#pragma once
/// @file
/// How does a record file become a validated Rig?

#include <string>
#include <string_view>

#include "core/record_tree.hpp"
#include "core/rig.hpp"

namespace firstglow::core {

/// Largest record file accepted [bytes].
inline constexpr std::size_t kLargestRecordFile = std::size_t{1024} * 1024;

/// Read and validate a record file (format: docs/records.md).
/// @throws InputError with every fault of the file, in order of position.
[[nodiscard]] Rig read_rig_file(const std::string& path);

/// The same from text already in memory; `file` is used in messages only.
[[nodiscard]] Rig read_rig_text(std::string_view text, const std::string& file);

/// The record of a file as a tree, not yet read as a rig (see core/record_change.hpp).
/// @throws InputError when the file cannot be read or is no YAML map.
[[nodiscard]] RecordNode read_record_file(const std::string& path);

/// Read and validate a record that is a tree already; `file` is used in messages only.
/// @throws InputError with every fault
[[nodiscard]] Rig read_rig_record(const RecordNode& root, const std::string& file);

/// The JSON Schema (draft 2020-12) of the record format, made from the reader's own tables.
[[nodiscard]] std::string record_schema_json();

}  // namespace firstglow::core
