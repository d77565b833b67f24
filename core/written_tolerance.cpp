#include <fmt/format.h>

#include <charconv>

#include "core/value_words.hpp"
#include "core/written_text.hpp"
#include "core/written_value.hpp"

namespace firstglow::core {
namespace {

// A value 95 % low or 400 % high is a slip of the pen, not a tolerance.
constexpr double kMostMinus = 95.0;
constexpr double kMostPlus = 400.0;

std::string tolerance_fault(std::string_view text, std::string_view what) {
  return fmt::format(
      "{} {}; expected a tolerance such as '15 %', '+/-20 %' or '-20/+80 %'; write it so",
      in_quotes(text), what);
}

/// A plain decimal number without sign; empty when the text is anything else.
std::optional<double> read_plain(std::string_view text) {
  text = trimmed(text);
  if (text.empty() || text.find_first_not_of("0123456789.") != std::string_view::npos) {
    return std::nullopt;
  }
  double value = 0.0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || end != text.data() + text.size()) {
    return std::nullopt;
  }
  return value;
}

bool take(std::string_view& text, std::string_view start) {
  if (text.substr(0, start.size()) != start) {
    return false;
  }
  text = trimmed(text.substr(start.size()));
  return true;
}

struct Percents {
  double minus;
  double plus;
};

/// "-20/+80" or "+80/-20"
std::optional<Percents> read_two_sides(std::string_view text) {
  const std::size_t slash = text.find('/');
  if (slash == std::string_view::npos) {
    return std::nullopt;
  }
  std::string_view first = trimmed(text.substr(0, slash));
  std::string_view second = trimmed(text.substr(slash + 1));
  const bool minus_first = take(first, "-") || take(first, "\u2212");
  const bool in_order = minus_first
                            ? take(second, "+")
                            : take(first, "+") && (take(second, "-") || take(second, "\u2212"));
  const auto one = read_plain(first);
  const auto other = read_plain(second);
  if (!in_order || !one || !other) {
    return std::nullopt;
  }
  return minus_first ? Percents{*one, *other} : Percents{*other, *one};
}

std::optional<Percents> read_percents(std::string_view text) {
  std::string_view one = text;
  if (take(one, "+/-") || take(one, "\u00B1") || read_plain(one)) {
    const auto both = read_plain(one);
    return both ? std::optional<Percents>({*both, *both}) : std::nullopt;
  }
  return read_two_sides(text);
}

}  // namespace

Written<Tolerance> read_tolerance(std::string_view text) {
  text = trimmed(text);
  for (const ToleranceLetter& known : tolerance_letters()) {
    if (text.size() == 1 && text[0] == known.letter) {
      return {known.tolerance, {}};
    }
  }
  if (text.find(',') != std::string_view::npos) {
    return {{}, tolerance_fault(text, "holds a comma instead of a decimal point")};
  }
  if (text.empty() || text.back() != '%') {
    return {{}, tolerance_fault(text, "does not end in the unit %")};
  }
  const auto percents = read_percents(trimmed(text.substr(0, text.size() - 1)));
  if (!percents) {
    return {{}, tolerance_fault(text, "is not readable")};
  }
  if (percents->minus > kMostMinus || percents->plus > kMostPlus) {
    return {
        {},
        tolerance_fault(text, fmt::format("is wider than -{:g}/+{:g} %", kMostMinus, kMostPlus))};
  }
  return {Tolerance{percents->minus / 100.0, percents->plus / 100.0}, {}};
}

}  // namespace firstglow::core
