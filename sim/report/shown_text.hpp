#pragma once
/// @file
/// How is text of unknown origin shown on a terminal without harm, and how wide is it there?

#include <string>
#include <string_view>
#include <vector>

namespace firstglow::sim {

/// What the reader's terminal can show.
struct TextStyle {
  bool utf8 = false;  ///< false: everything outside ASCII is printed as \u{...}
  int width = 80;     ///< columns, >= 40
};

/// The text with everything that could steer a terminal or turn a line round made visible:
/// control characters (ASCII and C1), line breaks, bidirectional and invisible marks and broken
/// UTF-8 become \n, \x1b or \u{202e}. Nothing else is changed.
[[nodiscard]] std::string shown(std::string_view text, const TextStyle& style);

/// A key of docs/references.md in its brackets; other words (where a limit is from) as they are.
[[nodiscard]] std::string source_words(const std::string& source);

/// Columns that shown() text takes; wide East Asian characters count two, combining marks none.
[[nodiscard]] int columns_of(std::string_view text);

/// Lines of at most `width` columns, broken at spaces; a longer word is cut.
/// @param width  >= 1
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, int width);

}  // namespace firstglow::sim
