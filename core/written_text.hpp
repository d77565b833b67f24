#pragma once
/// @file
/// May this text stand in a record, and how is it shown in a message?

#include <optional>
#include <string>
#include <string_view>

#include "core/error.hpp"

namespace firstglow::core {

/// Longest designator, node name or winding name [characters].
inline constexpr std::size_t kLongestName = 32;

/// The first character that may not stand in a record, and what it is in words.
struct BadCharacter {
  std::size_t offset = 0;  ///< byte offset in the text
  std::string what;        ///< e.g. "a NUL byte", "control character U+001B"
};

/// Refused: NUL, control characters other than tab, line feed and carriage return before a line
/// feed, text that is not UTF-8, and the invisible characters that reorder or break lines on
/// a screen (U+2028, U+2029, U+202A to U+202E, U+2066 to U+2069, U+FEFF, U+FFFE, U+FFFF).
[[nodiscard]] std::optional<BadCharacter> find_bad_character(std::string_view text);

/// Line and column (in characters, from 1) of a byte offset.
[[nodiscard]] SourcePosition position_at(std::string_view text, std::size_t offset);

/// The text without blanks, tabs and line ends at either side.
[[nodiscard]] std::string_view trimmed(std::string_view text);

/// The text in single quotes for a message: control characters as \xNN, cut after 40 characters.
[[nodiscard]] std::string in_quotes(std::string_view text);

/// A designator, node name or winding name: 1 to kLongestName of A-Z a-z 0-9 + - _ . / ( )
[[nodiscard]] bool is_name(std::string_view text);

/// is_name() in words, for messages and for the manual.
[[nodiscard]] std::string name_rule();

/// Number of characters (not bytes) of UTF-8 text.
[[nodiscard]] std::size_t count_characters(std::string_view text);

}  // namespace firstglow::core
