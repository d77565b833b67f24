#pragma once
/// @file
/// How is a number said to somebody who reads a meter?

#include <optional>
#include <string>
#include <string_view>

namespace firstglow::sim {

/// Three significant digits, no exponent, no prefix: "0.0312", "45.1", "612", "1234", "0".
/// @throws ContractError  when the value is not finite (all functions of this header).
[[nodiscard]] std::string significant(double value);

/// A value that a person chose, as people write it: "10", "117.5".
[[nodiscard]] std::string plain(double value);

/// With unit and engineering prefix: "612 V", "51.2 kohm", "40 uF"; a compound unit or "%" takes
/// no prefix, a pure number (unit "" or "1") stands alone.
[[nodiscard]] std::string with_unit(double value, std::string_view unit);

/// An instant or a short duration: "6.2 ms", "1.33 s".
[[nodiscard]] std::string instant(double time_s);

/// How long to wait, rounded up, the dangerous side being short: "0.4 s", "47 s", "3 min 40 s",
/// "21 min", "2 h 5 min", "3 d 4 h".
[[nodiscard]] std::string waiting_time(double time_s);
/// The same; empty means "never".
[[nodiscard]] std::string waiting_time(const std::optional<double>& time_s);

/// A fraction in per cent: 0.173 -> "17 %", 0.0432 -> "4.3 %", 0.0004 -> "0.04 %".
[[nodiscard]] std::string percent(double fraction);

}  // namespace firstglow::sim
