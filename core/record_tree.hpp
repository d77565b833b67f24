#pragma once
/// @file
/// What does the YAML text of a record say, and where does each word of it stand?
///
/// Only the plain part of YAML is taken: maps, lists and texts. Anchors, aliases, tags, keys that
/// are not text and more than one document are refused, so that a small file cannot unfold into a
/// large one and every value stands where the user sees it.

#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace firstglow::core {

/// Maps and lists inside each other; a record needs 6.
inline constexpr int kDeepestRecord = 16;
/// Keys, values and lists of a record together.
inline constexpr int kMostRecordElements = 20000;

enum class RecordShape { nothing, text, list, map };

/// One value with its place, and its key when it stands in a map.
struct RecordNode {
  RecordShape shape = RecordShape::nothing;
  SourcePosition where;  ///< of the value; of the key when there is no value
  std::string key;
  SourcePosition key_where;
  std::string text;                  ///< when shape is text
  std::vector<RecordNode> children;  ///< items of a list, entries of a map in file order

  /// The first entry of a map with this key, or nullptr.
  [[nodiscard]] const RecordNode* find(std::string_view wanted) const;
};

/// Parse the text of a record (of a size read_rig_text() allows). Faults are added to `faults`;
/// after one that makes the text unreadable the tree returned is empty. A key written twice is a
/// fault and stays in the tree.
[[nodiscard]] RecordNode parse_record(std::string_view text, std::vector<InputFault>& faults);

}  // namespace firstglow::core
