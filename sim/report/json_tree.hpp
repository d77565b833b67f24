#pragma once
/// @file
/// What does a JSON file that somebody hands in hold, and where does each value stand?

#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace firstglow::sim {

/// One value with its place in the file.
struct JsonValue {
  enum class Kind { null, boolean, number, text, list, object };
  Kind kind = Kind::null;
  bool flag = false;
  double number = 0.0;
  std::string text;
  std::vector<JsonValue> items;    ///< of a list, or the values of an object
  std::vector<std::string> names;  ///< of an object's values, in the order of the file
  core::SourcePosition where;

  /// The member of that name; nullptr when there is none, or this is no object.
  [[nodiscard]] const JsonValue* find(std::string_view key) const;
};

/// @throws InputError  when the text is no JSON, nests deeper than 16, or names a key twice.
[[nodiscard]] JsonValue read_json_text(std::string_view text, const std::string& file);

}  // namespace firstglow::sim
