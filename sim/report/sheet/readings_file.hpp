#pragma once
/// @file
/// What did somebody fill in on a sheet? The JSON or CSV that the sheet exports (docs/readings.md).

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "sim/report/sheet/sheet_facts.hpp"

namespace firstglow::sim {

inline constexpr std::size_t kLargestReadingsFile = std::size_t{1} << 20;
inline constexpr std::size_t kMostEntries = 20000;

enum class EntryKind { reading, tick, words };

/// One thing that was filled in.
struct WrittenEntry {
  EntryKind kind = EntryKind::reading;
  std::string id, label, unit;
  std::string written;  ///< as it was typed
  std::string mark;     ///< what the page said of it; empty when the file does not tell
  core::SourcePosition where;
};

struct ReadingsFile {
  std::string file;
  std::optional<SheetFacts> sheet;  ///< empty: the file does not say which sheet it belongs to
  std::vector<WrittenEntry> entries;

  [[nodiscard]] const WrittenEntry* find(std::string_view id) const;
};

/// JSON when the first character that is no blank is '{' or '[', else CSV.
/// @throws InputError with every fault of the file.
[[nodiscard]] ReadingsFile read_readings_text(std::string_view text, const std::string& file);
[[nodiscard]] ReadingsFile read_readings_file(const std::string& path);

}  // namespace firstglow::sim
