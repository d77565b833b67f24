#include "sim/report/numbers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

constexpr double kSmallest = 1e-13;  // below it a value is printed as zero

/// `digits` significant digits without exponent; more digits before the point are all kept.
std::string rounded(double value, int digits) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a printed number is finite");
  if (std::abs(value) < kSmallest) {
    return "0";
  }
  // The scientific form knows the power of ten after rounding.
  const std::string scientific = fmt::format("{:.{}e}", value, digits - 1);
  const int power = std::stoi(scientific.substr(scientific.find('e') + 1));
  return fmt::format("{:.{}f}", value, std::clamp(digits - 1 - power, 0, 20));
}

/// "40.0" -> "40": a value that is whole in its digits is printed as people write it.
std::string without_trailing_zeros(std::string text) {
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') {
      text.pop_back();
    }
  }
  return text;
}

struct Prefix {
  int power;
  const char* word;
};
constexpr std::array<Prefix, 8> kPrefixes{
    {{-12, "p"}, {-9, "n"}, {-6, "u"}, {-3, "m"}, {0, ""}, {3, "k"}, {6, "M"}, {9, "G"}}};

bool takes_prefix(std::string_view unit) {
  static constexpr std::array<std::string_view, 11> kUnits{"V",  "A", "W", "J", "ohm", "F",
                                                           "Hz", "H", "C", "s", "VA"};
  return std::find(kUnits.begin(), kUnits.end(), unit) != kUnits.end();
}

}  // namespace

std::string significant(double value) { return rounded(value, 3); }

std::string plain(double value) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a printed number is finite");
  return without_trailing_zeros(fmt::format("{:.3f}", value));
}

std::string with_unit(double value, std::string_view unit) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a printed number is finite");
  if (unit.empty() || unit == "1") {
    return without_trailing_zeros(rounded(value, 3));
  }
  if (std::abs(value) < kSmallest) {
    return fmt::format("0 {}", unit);
  }
  if (!takes_prefix(unit)) {
    return fmt::format("{} {}", without_trailing_zeros(rounded(value, 3)), unit);
  }
  const std::string scientific = fmt::format("{:.2e}", value);
  const int power = std::stoi(scientific.substr(scientific.find('e') + 1));
  const int wanted = static_cast<int>(std::floor(power / 3.0)) * 3;
  const int used = std::clamp(wanted, kPrefixes.front().power, kPrefixes.back().power);
  const auto& prefix = kPrefixes.at(static_cast<std::size_t>((used + 12) / 3));
  const std::string number = without_trailing_zeros(rounded(value * std::pow(10.0, -used), 3));
  return fmt::format("{} {}{}", number, prefix.word, unit);
}

std::string instant(double time_s) { return with_unit(time_s, "s"); }

std::string waiting_time(double time_s) {
  FIRSTGLOW_REQUIRE(std::isfinite(time_s) && time_s >= 0.0, "a waiting time is finite, from 0 up");
  // A time that is whole but for rounding noise is not pushed to the next step.
  const auto up = [](double steps) { return std::llround(std::ceil(steps - 1e-9)); };
  constexpr double kMinute = 60.0, kHour = 3600.0, kDay = 86400.0;
  if (time_s <= 10.0) {
    const auto tenths = up(time_s * 10.0);
    return tenths % 10 == 0 ? fmt::format("{} s", tenths / 10)
                            : fmt::format("{}.{} s", tenths / 10, tenths % 10);
  }
  if (time_s <= 2.0 * kMinute) {
    return fmt::format("{} s", up(time_s));
  }
  if (time_s <= 10.0 * kMinute) {
    const auto tens = up(time_s / 10.0);
    return tens % 6 == 0 ? fmt::format("{} min", tens / 6)
                         : fmt::format("{} min {} s", tens / 6, tens % 6 * 10);
  }
  if (time_s <= 2.0 * kHour) {
    return fmt::format("{} min", up(time_s / kMinute));
  }
  const bool days = time_s > 2.0 * kDay;
  const auto small = up(time_s / (days ? kHour : kMinute));
  const auto per_big = days ? 24 : 60;
  const auto rest = small % per_big;
  const char* big_word = days ? "d" : "h";
  return rest == 0
             ? fmt::format("{} {}", small / per_big, big_word)
             : fmt::format("{} {} {} {}", small / per_big, big_word, rest, days ? "h" : "min");
}

std::string waiting_time(const std::optional<double>& time_s) {
  return time_s ? waiting_time(*time_s) : "never";
}

std::string percent(double fraction) {
  const double value = fraction * 100.0;
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a printed number is finite");
  return fmt::format("{} %", std::abs(value) >= 10.0 ? rounded(std::round(value), 2)
                                                     : without_trailing_zeros(rounded(value, 2)));
}

}  // namespace firstglow::sim
