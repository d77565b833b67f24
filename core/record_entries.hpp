#pragma once
/// @file
/// How are entries of a record made and found when a program, not a person, writes them?

#include <string>
#include <string_view>
#include <vector>

#include "core/record_tree.hpp"

namespace firstglow::core {

/// An entry `key: text` that stands at `where`.
[[nodiscard]] RecordNode text_entry(std::string_view key, std::string text, SourcePosition where);
/// An entry `key: {...}`.
[[nodiscard]] RecordNode map_entry(std::string_view key, std::vector<RecordNode> children,
                                   SourcePosition where);
/// The first entry of a map with this key, or nullptr.
[[nodiscard]] RecordNode* find_entry(RecordNode& map, std::string_view key);
/// The part of this designator in a record, or nullptr.
[[nodiscard]] RecordNode* find_part(RecordNode& record, std::string_view designator);
/// Text of an entry of a map; empty when it is not there.
[[nodiscard]] std::string text_of(const RecordNode& map, std::string_view key);
/// Node name of a terminal in the map `nodes` of a part; "open" when it is not there.
[[nodiscard]] std::string node_of(const RecordNode& part, std::string_view terminal);
/// Replaces the entry of that key, or adds it.
void set_entry(RecordNode& map, RecordNode entry);

}  // namespace firstglow::core
