#pragma once
/// @file
/// Records for tests, whole or with one piece of text replaced.

#include <string>

namespace firstglow::core {

/// Text of tests/core/small_rig.yaml, a sound record.
[[nodiscard]] std::string small_record();
/// Text of the demo record.
[[nodiscard]] std::string demo_record();
/// `text` with its first `from` replaced by `to`; throws when there is no `from`.
[[nodiscard]] std::string edited(std::string text, const std::string& from, const std::string& to);
/// All faults of a record read as "rig.yaml", or "no fault".
[[nodiscard]] std::string faults_of(const std::string& text);
/// Text of a file below the source folder.
[[nodiscard]] std::string source_file(const std::string& path);

}  // namespace firstglow::core
