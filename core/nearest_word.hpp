#pragma once
/// @file
/// Which known word did the user probably mean?

#include <string>
#include <string_view>
#include <vector>

namespace firstglow::core {

/// Number of single-character insertions, removals, replacements and swaps of neighbours that turn
/// one word into the other, upper and lower case taken as equal.
[[nodiscard]] int edit_distance(std::string_view one, std::string_view other);

/// The known words closest to `word`, nearest first (equals in the given order), at most `most`;
/// words further away than a third of the longer length (at least 2 edits) are left out.
[[nodiscard]] std::vector<std::string> nearest_words(std::string_view word,
                                                     const std::vector<std::string>& known,
                                                     std::size_t most = 3);

/// The nearest known word, empty when none is near.
[[nodiscard]] std::string nearest_word(std::string_view word,
                                       const std::vector<std::string>& known);

}  // namespace firstglow::core
