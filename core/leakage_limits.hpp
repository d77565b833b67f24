#pragma once
/// @file
/// How much may an aluminium electrolytic leak once it is formed, and who says so?

#include <string_view>
#include <vector>

#include "core/units.hpp"

namespace firstglow::core {

/// A rule for the largest leakage, by capacitance and rated volts.
struct LeakageRule {
  std::string_view key;     ///< on the command line and in JSON
  std::string_view words;   ///< the formula, as people write it
  std::string_view source;  ///< key of docs/references.md in brackets, or how well it is known
  Seconds read_after;       ///< at rated volts
  Amps (*limit)(Farads, Volts);
};

/// The period rule first: I[mA] = K C[uF] + 0.3 [JAN-C-62]; then what makers' catalogues print:
/// 0.01 C V or 3 uA, 0.03 C V or 4 uA, and 0.3 (C V)^0.7 + 4 in uA with uF and V.
///
/// The period rule knows no volts above 450; above, K stays that of 351 V and up (assumed).
/// A rule says what was thought to be a good part when it was new; it does not say that a part
/// which keeps it is safe to use.
[[nodiscard]] const std::vector<LeakageRule>& leakage_rules();

/// nullptr when there is none of that key.
[[nodiscard]] const LeakageRule* find_leakage_rule(std::string_view key);

}  // namespace firstglow::core
