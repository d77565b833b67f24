#pragma once
/// @file
/// Which units, prefixes and letter codes may stand behind a number?

#include <string_view>
#include <vector>

#include "core/written_value.hpp"

namespace firstglow::core {

/// A spelling of a unit.
struct UnitWord {
  Dimension dimension;
  std::string_view word;
  bool prefix_allowed;
};
[[nodiscard]] const std::vector<UnitWord>& unit_words();

/// An SI prefix: a power of ten.
struct PrefixWord {
  std::string_view word;
  int exponent;
};
[[nodiscard]] const std::vector<PrefixWord>& prefix_words();

/// A letter that stands for the decimal point in a code of IEC 60062.
struct CodeLetter {
  Dimension dimension;
  std::string_view word;
  int exponent;
};
[[nodiscard]] const std::vector<CodeLetter>& code_letters();

/// A tolerance letter of IEC 60062; fractions.
struct ToleranceLetter {
  char letter;
  Tolerance tolerance;
};
[[nodiscard]] const std::vector<ToleranceLetter>& tolerance_letters();

}  // namespace firstglow::core
