#pragma once
/// @file
/// Does what a meter showed lie where it was predicted?

#include <optional>
#include <string>
#include <string_view>

namespace firstglow::sim {

/// What is expected of one reading, in its unit. Empty: not known.
struct ReadingLimits {
  std::optional<double> low, expected, high;     ///< the predicted band
  std::optional<double> stop_below, stop_above;  ///< beyond these: plug out first, think afterwards
};

/// In order of weight: the worst of several is the largest.
enum class Judgement { inside, no_verdict, outside, stop };

/// "inside", "outside", "stop" or "no verdict": words of the page, of the export and of JSON.
[[nodiscard]] const char* judgement_words(Judgement judgement);

/// Beyond a stop limit: stop. Else, without a whole band: no verdict. Else within the band, both
/// ends included: inside. Else: outside. A reading is never "inside" for want of a limit.
///
/// The same law stands in sim/report/sheet/assets/tablet_law.js; tests/browser/law_cases.json
/// holds both to the same cases.
[[nodiscard]] Judgement judge(const ReadingLimits& limits, double value);

/// Limits with as many digits as a sheet prints, so that a reading is judged by the numbers that
/// stand beside it: the band widened outwards to three significant digits, the stop limits rounded
/// to the nearest, but never into the band.
enum class PrintedDigits {
  whole_from_1000,  ///< "2541": volts, amps and watts as significant() writes them
  three,            ///< "18.4 k": ohms, written with a prefix
};
[[nodiscard]] ReadingLimits as_printed(const ReadingLimits& limits,
                                       PrintedDigits digits = PrintedDigits::whole_from_1000);

/// The largest reading taken, and what "OL" or "open" in a blank for ohms is read as.
inline constexpr double kOpenOhm = 1e12;

/// What a person wrote in a blank: the value in the blank's unit, or what is wrong.
struct WrittenReading {
  std::optional<double> value;
  std::string fault;  ///< empty when there is a value
};

/// "610", "-48", "0,39" (a decimal comma), "1.2 k", "390 mA", "1.2kV". Prefixes u, m, k, M; the
/// unit may be left out, and when it is there it must be the blank's own. In a blank for ohms "OL"
/// and "open" are kOpenOhm. Refused, never guessed:
/// a comma that could part thousands ("1,200"), two of comma and point, exponents, words.
/// @param unit  of the blank; its first word counts, "V DC" is V. May be empty (a pure number).
[[nodiscard]] WrittenReading read_written(std::string_view text, std::string_view unit);

}  // namespace firstglow::sim
