#include "core/written_value.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "core/value_words.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr std::size_t kLongestValue = 40;

struct DimensionFacts {
  Dimension dimension;
  const char* words;
  const char* example;
  double smallest;
  double largest;
};

// Bounds catch slips of the pen (a prefix too many), not unwise parts.
constexpr std::array kFacts{
    DimensionFacts{Dimension::none, "number", "'3'", 0.0, 1e9},
    DimensionFacts{Dimension::volts, "voltage", "'350 V'", 1e-3, 1e5},
    DimensionFacts{Dimension::amps, "current", "'30 mA'", 1e-12, 1e4},
    DimensionFacts{Dimension::ohms, "resistance", "'4.7 kohm' or '4k7'", 1e-6, 1e12},
    DimensionFacts{Dimension::farads, "capacitance", "'47 uF' or '47u'", 1e-15, 1.0},
    DimensionFacts{Dimension::henries, "inductance", "'10 H'", 1e-9, 1e4},
    DimensionFacts{Dimension::watts, "power", "'0.25 W'", 1e-6, 1e6},
    DimensionFacts{Dimension::hertz, "frequency", "'60 Hz'", 10.0, 1e3},
    DimensionFacts{Dimension::amps_squared_seconds, "I2t", "'12 A2s'", 1e-6, 1e9},
    DimensionFacts{Dimension::seconds, "time", "'1.5 s'", 1e-6, 1e6},
    DimensionFacts{Dimension::kelvin, "temperature", "'3000 kelvin'", 1e-3, 1e5},
};

const DimensionFacts& facts(Dimension dimension) {
  return kFacts.at(static_cast<std::size_t>(dimension));
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view digits_of(std::string_view text) {
  const auto end = std::find_if_not(text.begin(), text.end(), is_digit);
  return text.substr(0, static_cast<std::size_t>(end - text.begin()));
}

/// digits, or digits with one decimal point somewhere, at the start of `text`; else empty.
std::string_view decimal_of(std::string_view text) {
  const std::size_t whole = digits_of(text).size();
  std::size_t length = whole;
  if (length < text.size() && text[length] == '.') {
    const std::size_t part = digits_of(text.substr(length + 1)).size();
    length = whole + part == 0 ? 0 : length + 1 + part;
  }
  return text.substr(0, length);
}

/// The double nearest to `decimal` x 10^exponent.
double scaled(std::string_view decimal, int exponent) {
  const std::string text = fmt::format("{}e{}", decimal, exponent);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  FIRSTGLOW_REQUIRE(error == std::errc{} && end == text.data() + text.size(),
                    "a scanned decimal number is readable");
  return value;
}

std::optional<int> prefix_exponent(std::string_view prefix, const UnitWord& unit) {
  if (unit.word == "mfd" || unit.word == "MFD") {
    return prefix.empty() ? std::optional<int>(-6) : std::nullopt;
  }
  if (prefix.empty()) {
    return 0;
  }
  for (const PrefixWord& known : prefix_words()) {
    if (unit.prefix_allowed && known.word == prefix) {
      return known.exponent;
    }
  }
  return std::nullopt;
}

struct Reading {
  Dimension dimension;
  double si;
};

bool ends_with(std::string_view text, std::string_view end) {
  return text.size() >= end.size() && text.substr(text.size() - end.size()) == end;
}

/// "1.5" with " kohm" behind it.
std::optional<Reading> read_unit(std::string_view decimal, std::string_view rest) {
  for (const UnitWord& unit : unit_words()) {
    if (!ends_with(rest, unit.word)) {
      continue;
    }
    const std::string_view prefix = rest.substr(0, rest.size() - unit.word.size());
    if (const auto exponent = prefix_exponent(prefix, unit)) {
      return Reading{unit.dimension, scaled(decimal, *exponent)};
    }
  }
  return std::nullopt;
}

/// "4k7", "R47", "100R", "1.5k": a letter of IEC 60062 as decimal point or at the end.
std::optional<Reading> read_code(std::string_view decimal, std::string_view rest,
                                 Dimension wanted) {
  std::optional<Reading> found;
  for (const CodeLetter& code : code_letters()) {
    if (rest.substr(0, code.word.size()) != code.word) {
      continue;
    }
    const std::string_view fraction = rest.substr(code.word.size());
    const bool at_end = fraction.empty() && !decimal.empty();
    const bool inside = !fraction.empty() && digits_of(fraction) == fraction &&
                        decimal.find('.') == std::string_view::npos;
    if ((at_end || inside) && (!found || code.dimension == wanted)) {
      const std::string number =
          at_end ? std::string(decimal) : fmt::format("{}.{}", decimal, fraction);
      found = Reading{code.dimension, scaled(number, code.exponent)};
    }
  }
  return found;
}

const char* article(Dimension dimension) {
  const bool vowel =
      dimension == Dimension::henries || dimension == Dimension::amps_squared_seconds;
  return vowel ? "an" : "a";
}

std::string expected(Dimension dimension) {
  return fmt::format("expected {} {} such as {}", article(dimension), dimension_words(dimension),
                     dimension_example(dimension));
}

/// Faults seen before any number is read; empty when there is none.
std::string first_look(std::string_view text, Dimension dimension) {
  if (text.empty()) {
    return fmt::format("the value is empty; {}; write it", expected(dimension));
  }
  if (text.size() > kLongestValue) {
    return fmt::format("{} is longer than {} characters; {}; shorten it", in_quotes(text),
                       kLongestValue, expected(dimension));
  }
  if (text.find(',') != std::string_view::npos) {
    return fmt::format("{} holds a comma; {}; write a decimal point and no thousands separator",
                       in_quotes(text), expected(dimension));
  }
  constexpr std::string_view kMinusSign = "\u2212";
  if (text[0] == '-' || text.substr(0, kMinusSign.size()) == kMinusSign) {
    return fmt::format("{} is negative; {} above zero; remove the minus sign", in_quotes(text),
                       expected(dimension));
  }
  return {};
}

bool is_not_finite_word(std::string_view text) {
  std::string word(text.substr(0, text.find_first_of(" \t")));
  std::transform(word.begin(), word.end(), word.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return word == "inf" || word == "infinity" || word == "nan" || word == ".inf" || word == ".nan";
}

std::string no_number(std::string_view text, std::string_view rest, std::string_view decimal,
                      Dimension dimension) {
  if (is_not_finite_word(text)) {
    return fmt::format("{} is not a finite number; {}; write the number", in_quotes(text),
                       expected(dimension));
  }
  if (decimal.empty()) {
    return fmt::format("{} does not start with a number; {}; write number and unit",
                       in_quotes(text), expected(dimension));
  }
  return fmt::format("{} ends in {}, which is no known unit; {}; write the unit so",
                     in_quotes(text), in_quotes(rest), expected(dimension));
}

std::string no_unit(std::string_view text, Dimension dimension) {
  return fmt::format("{} has no unit; {}; add the unit", in_quotes(text), expected(dimension));
}

/// A lone prefix ("30 m") is complete only where IEC 60062 gives it a meaning.
bool is_prefix_only(std::string_view decimal, std::string_view rest) {
  return !decimal.empty() &&
         std::any_of(prefix_words().begin(), prefix_words().end(),
                     [&](const PrefixWord& prefix) { return prefix.word == rest; });
}

Written<double> in_range(std::string_view text, double si, Dimension dimension, bool zero_allowed) {
  if (si == 0.0) {
    if (zero_allowed) {
      return {si, {}};
    }
    return {{},
            fmt::format("{} is zero; {} above zero; write the real value", in_quotes(text),
                        expected(dimension))};
  }
  if (!std::isfinite(si) || si < smallest_value(dimension) || si > largest_value(dimension)) {
    return {{},
            fmt::format("{} is outside what such a part can have ({:g} to {:g} in SI units); "
                        "{}; check the prefix",
                        in_quotes(text), smallest_value(dimension), largest_value(dimension),
                        expected(dimension))};
  }
  return {si, {}};
}

}  // namespace

const char* dimension_words(Dimension dimension) { return facts(dimension).words; }
const char* dimension_example(Dimension dimension) { return facts(dimension).example; }
double largest_value(Dimension dimension) { return facts(dimension).largest; }
double smallest_value(Dimension dimension) { return facts(dimension).smallest; }

Written<double> read_quantity(std::string_view text, Dimension dimension, bool zero_allowed) {
  text = trimmed(text);
  if (std::string fault = first_look(text, dimension); !fault.empty()) {
    return {{}, fault};
  }
  const std::string_view decimal = decimal_of(text);
  const std::string_view rest = trimmed(text.substr(decimal.size()));
  if (rest.empty()) {
    return {{}, no_unit(text, dimension)};
  }
  const bool has_code = dimension == Dimension::ohms || dimension == Dimension::farads;
  std::optional<Reading> reading;
  if (!decimal.empty()) {
    reading = read_unit(decimal, rest);
  }
  if (!reading && (has_code || !is_prefix_only(decimal, rest))) {
    reading = read_code(decimal, rest, dimension);
  }
  if (!reading) {
    return {{},
            is_prefix_only(decimal, rest) ? no_unit(text, dimension)
                                          : no_number(text, rest, decimal, dimension)};
  }
  if (reading->dimension != dimension) {
    return {{},
            fmt::format("{} is {} {}; {}; check the key or the unit", in_quotes(text),
                        article(reading->dimension), dimension_words(reading->dimension),
                        expected(dimension))};
  }
  return in_range(text, reading->si, dimension, zero_allowed);
}

Written<std::vector<double>> read_sections(std::string_view text, Dimension dimension) {
  constexpr int kMostSections = 16;
  text = trimmed(text);
  int count = 1;
  const std::string_view digits = digits_of(text);
  const std::string_view rest = trimmed(text.substr(digits.size()));
  for (const std::string_view times : {"x", "X", "\u00D7"}) {
    if (!digits.empty() && rest.substr(0, times.size()) == times) {
      const Written<int> read = read_count(digits, 1, kMostSections);
      if (!read.value) {
        return {{}, fmt::format("number of sections in {}: {}", in_quotes(text), read.fault)};
      }
      count = *read.value;
      text = rest.substr(times.size());
      break;
    }
  }
  const Written<double> one = read_quantity(text, dimension);
  if (!one.value) {
    return {{}, one.fault};
  }
  return {std::vector<double>(static_cast<std::size_t>(count), *one.value), {}};
}

Written<int> read_count(std::string_view text, int low, int high) {
  text = trimmed(text);
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc{} || end != text.data() + text.size() || value < low ||
      value > high) {
    return {{},
            fmt::format("{} is not a whole number from {} to {}; expected one without unit; "
                        "correct it",
                        in_quotes(text), low, high)};
  }
  return {value, {}};
}

}  // namespace firstglow::core
