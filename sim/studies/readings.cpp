#include "sim/studies/readings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "core/written_text.hpp"

namespace firstglow::sim {
namespace {

/// Rounds as a sheet prints.
class Printer {
 public:
  explicit Printer(PrintedDigits digits) : digits_(digits) {}

  [[nodiscard]] double nearest(double value) const {
    if (is_whole(value)) {
      return std::round(value);
    }
    const std::string text = fmt::format("{:.2e}", value);
    double rounded = 0.0;
    std::from_chars(text.data(), text.data() + text.size(), rounded);
    return rounded;
  }
  [[nodiscard]] double down(double value) const {
    const double rounded = nearest(value);
    // 25 k less 10 % is 22.5 k, whatever the last bit of the product says
    const bool is_it = rounded <= value || rounded - value <= 1e-12 * std::abs(value);
    return is_it ? rounded : nearest(value - last_digit(value));
  }
  [[nodiscard]] double up(double value) const { return -down(-value); }

 private:
  [[nodiscard]] bool is_whole(double value) const {
    return digits_ == PrintedDigits::whole_from_1000 && std::abs(value) >= 1000.0;
  }
  /// One unit of the last digit that nearest() keeps.
  [[nodiscard]] double last_digit(double value) const {
    if (value == 0.0 || is_whole(value)) {
      return value == 0.0 ? 0.0 : 1.0;
    }
    return std::pow(10.0, std::floor(std::log10(std::abs(value))) - 2.0);
  }

  PrintedDigits digits_;
};

std::string_view base_unit(std::string_view unit) { return unit.substr(0, unit.find(' ')); }

/// Splits "1.2 kV" into its number and what follows.
std::size_t end_of_number(std::string_view text) {
  std::size_t end = 0;
  while (end < text.size() &&
         std::string_view("0123456789.,+-").find(text[end]) != std::string_view::npos) {
    ++end;
  }
  return end;
}

std::string_view without_sign(std::string_view digits) {
  return digits.starts_with('-') || digits.starts_with('+') ? digits.substr(1) : digits;
}

/// Why the digits are no plain number; empty when they are one.
std::string number_fault(std::string_view digits) {
  const auto commas = std::count(digits.begin(), digits.end(), ',');
  const auto points = std::count(digits.begin(), digits.end(), '.');
  if (commas + points > 1) {
    return "more than one comma or point; write it without thousands separators, e.g. 1250 or 1.25 "
           "k";
  }
  if (commas == 1) {
    const std::size_t comma = digits.find(',');
    const std::string_view whole = without_sign(digits.substr(0, comma));
    if (digits.size() - comma == 4 && whole.find_first_not_of('0') != std::string_view::npos) {
      return "a comma before three digits can mean two things; write 1250 or 1.25";
    }
  }
  return {};
}

std::optional<double> prefix_factor(std::string_view tail, std::string_view unit) {
  if (!unit.empty() && tail.ends_with(unit)) {
    tail.remove_suffix(unit.size());
  }
  constexpr std::array kPrefixes{
      std::pair{std::string_view(), 1.0}, std::pair{std::string_view("u"), 1e-6},
      std::pair{std::string_view("m"), 1e-3}, std::pair{std::string_view("k"), 1e3},
      std::pair{std::string_view("M"), 1e6}};
  for (const auto& [prefix, factor] : kPrefixes) {
    if (tail == prefix) {
      return factor;
    }
  }
  return std::nullopt;
}

/// The typographic minus, the micro signs and the spaces that do not break, as plain letters.
std::string plain_letters(std::string_view text) {
  constexpr std::array kPlain{std::pair{std::string_view("\xe2\x88\x92"), '-'},
                              std::pair{std::string_view("\xc2\xb5"), 'u'},
                              std::pair{std::string_view("\xce\xbc"), 'u'},
                              std::pair{std::string_view("\xc2\xa0"), ' '},
                              std::pair{std::string_view("\xe2\x80\xaf"), ' '}};
  std::string plain;
  while (!text.empty()) {
    const auto* const found = std::find_if(kPlain.begin(), kPlain.end(), [text](const auto& one) {
      return text.starts_with(one.first);
    });
    const bool special = found != kPlain.end();
    plain += special ? found->second : text.front();
    text.remove_prefix(special ? found->first.size() : 1);
  }
  return std::string(core::trimmed(plain));
}

std::optional<double> decimal(std::string_view digits) {
  const bool negative = digits.starts_with('-');
  std::string text(without_sign(digits));
  std::replace(text.begin(), text.end(), ',', '.');
  const bool plain = text.find_first_not_of("0123456789.") == std::string::npos;
  if (!plain || text.find_first_of("0123456789") == std::string::npos) {
    return std::nullopt;
  }
  double value = 0.0;
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value, std::chars_format::fixed);
  if (read.ec != std::errc() || read.ptr != end) {
    return std::nullopt;
  }
  return negative ? -value : value;
}

}  // namespace

const char* judgement_words(Judgement judgement) {
  switch (judgement) {
    case Judgement::inside:
      return "inside";
    case Judgement::outside:
      return "outside";
    case Judgement::stop:
      return "stop";
    case Judgement::no_verdict:
      break;
  }
  return "no verdict";
}

Judgement judge(const ReadingLimits& limits, double value) {
  if (!std::isfinite(value)) {
    return Judgement::no_verdict;
  }
  if ((limits.stop_below && value < *limits.stop_below) ||
      (limits.stop_above && value > *limits.stop_above)) {
    return Judgement::stop;
  }
  if (!limits.low || !limits.high) {
    return Judgement::no_verdict;
  }
  return value >= *limits.low && value <= *limits.high ? Judgement::inside : Judgement::outside;
}

ReadingLimits as_printed(const ReadingLimits& limits, PrintedDigits digits) {
  const Printer printer(digits);
  ReadingLimits printed;
  if (limits.low) {
    printed.low = printer.down(*limits.low);
  }
  if (limits.expected) {
    printed.expected = printer.nearest(*limits.expected);
  }
  if (limits.high) {
    printed.high = printer.up(*limits.high);
  }
  if (limits.stop_below) {
    printed.stop_below =
        std::min(printer.nearest(*limits.stop_below), printed.low.value_or(HUGE_VAL));
  }
  if (limits.stop_above) {
    printed.stop_above =
        std::max(printer.nearest(*limits.stop_above), printed.high.value_or(-HUGE_VAL));
  }
  return printed;
}

WrittenReading read_written(std::string_view text, std::string_view unit) {
  const std::string plain = plain_letters(text);
  const std::string_view all = plain;
  const std::string_view base = base_unit(unit);
  if (base == "ohm" && (all == "OL" || all == "O.L" || all == "open")) {
    return {kOpenOhm, {}};
  }
  const std::size_t end = end_of_number(all);
  const std::string_view digits = all.substr(0, end);
  const std::string fault = number_fault(digits);
  if (!fault.empty()) {
    return {std::nullopt, fault};
  }
  const std::optional<double> number = decimal(digits);
  if (!number) {
    return {std::nullopt, "no number; write digits, e.g. 610, 0.39 or 1.2 k"};
  }
  const auto factor = prefix_factor(core::trimmed(all.substr(end)), base);
  if (!factor) {
    return {std::nullopt,
            fmt::format("the letters after the number are not understood; write {} or nothing, "
                        "with u, m, k or M before it",
                        base.empty() ? "no unit" : base)};
  }
  const double value = *number * *factor;
  if (!(std::abs(value) <= kOpenOhm)) {
    return {std::nullopt, "too large for a reading; correct it"};
  }
  return {value, {}};
}

}  // namespace firstglow::sim
