#pragma once
/// @file
/// How do waveforms become rows of text?

#include <string>
#include <string_view>
#include <vector>

#include "sim/studies/study.hpp"

namespace firstglow::sim {

/// A field of RFC 4180: quoted when it holds a comma, a quote or a line break. A text that a
/// spreadsheet would run as a formula (=, +, -, @, tab first) gets an apostrophe in front.
[[nodiscard]] std::string csv_field(std::string_view text);

/// Shortest decimal form that reads back as the same number.
[[nodiscard]] std::string csv_number(double value);

/// Header `trace,unit,time_s,value` and one row per point, lines ended by CR LF.
[[nodiscard]] std::string traces_csv(const std::vector<Trace>& traces);

}  // namespace firstglow::sim
