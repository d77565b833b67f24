#pragma once
/// @file
/// Which number does "4k7", "47 uF" or "-20/+80 %" mean?
///
/// Values are read as people write them on parts and schematics: a decimal number with a prefix
/// and a unit, or, for resistance and capacitance, a letter code of IEC 60062 [IEC-60062]
/// ("4k7", "R47", "2n2"). The unit is never guessed. Signs, decimal commas, exponents and words
/// such as "inf" are refused. Numbers are read with std::from_chars, whatever the locale.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/part_value.hpp"

namespace firstglow::core {

enum class Dimension {
  none,
  volts,
  amps,
  ohms,
  farads,
  henries,
  watts,
  hertz,
  amps_squared_seconds,
  seconds,
  kelvin,
};

/// "voltage", "resistance", ...
[[nodiscard]] const char* dimension_words(Dimension dimension);
/// An example for messages, e.g. "'4.7 kohm' or '4k7'".
[[nodiscard]] const char* dimension_example(Dimension dimension);
/// Largest value taken, in the SI unit of the dimension; smallest non-zero one.
[[nodiscard]] double largest_value(Dimension dimension);
[[nodiscard]] double smallest_value(Dimension dimension);
/// ECMA 262 regular expression (anchored) of the texts that read_quantity() takes.
[[nodiscard]] std::string quantity_pattern(Dimension dimension);
/// The same with an optional count in front ("2x350 V").
[[nodiscard]] std::string sections_pattern(Dimension dimension);
/// The same for read_tolerance().
[[nodiscard]] std::string tolerance_pattern();

/// A value read from text, or what is wrong with the text: found, expected, next step.
template <class T>
struct Written {
  std::optional<T> value;
  std::string fault;  ///< empty when there is a value
};

/// A value in the SI unit of `dimension`. @param zero_allowed  is zero a sensible value here?
[[nodiscard]] Written<double> read_quantity(std::string_view text, Dimension dimension,
                                            bool zero_allowed = false);

/// One value, or N like ones: "2x350 V" gives {350, 350}.
[[nodiscard]] Written<std::vector<double>> read_sections(std::string_view text,
                                                         Dimension dimension);

/// "15 %", "+/-20 %", "-20/+80 %", or a tolerance letter of IEC 60062 such as "K".
[[nodiscard]] Written<Tolerance> read_tolerance(std::string_view text);

/// A whole number without unit between `low` and `high`.
[[nodiscard]] Written<int> read_count(std::string_view text, int low, int high);

}  // namespace firstglow::core
