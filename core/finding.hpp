#pragma once
/// @file
/// What was judged, against which limit, and with what verdict?

#include <optional>
#include <string>
#include <vector>

namespace firstglow::core {

enum class Verdict {
  safe,        ///< within the stated limit under the stated assumption; never "safe to touch"
  unsafe,      ///< beyond the limit
  no_verdict,  ///< unknown rating, failed run or missing data
};

/// One rule applied to one part.
struct Finding {
  std::string rule;             ///< rule id, e.g. "capacitor-working-volts"
  std::string part;             ///< designator
  std::string quantity;         ///< in words, e.g. "peak volts across"
  std::string unit;             ///< SI symbol of value and limit, e.g. "V"
  std::optional<double> value;  ///< worst value found, in `unit`
  std::optional<double> limit;  ///< limit, in `unit`
  std::string situation;        ///< when the worst value happens, in words
  std::optional<double> at_s;   ///< time in that situation [s]
  std::string limit_source;     ///< where the limit comes from
  Verdict verdict = Verdict::no_verdict;
  std::string note;             ///< what is missing, or what to do
  bool limit_is_least = false;  ///< the value must not fall below the limit

  /// (limit - value) / limit, turned round for a least limit; empty when either is unknown.
  [[nodiscard]] std::optional<double> margin() const {
    if (!value || !limit || *limit == 0.0) {
      return std::nullopt;
    }
    const double room = limit_is_least ? *value - *limit : *limit - *value;
    return room / *limit;
  }
};

/// Worst verdict of a list: unsafe over no_verdict over safe; an empty list is no_verdict.
[[nodiscard]] Verdict worst_verdict(const std::vector<Finding>& findings);

/// "safe", "unsafe" or "no verdict".
[[nodiscard]] const char* to_words(Verdict verdict);

}  // namespace firstglow::core
