#pragma once
/// @file
/// How unevenly may diodes in series share the inverse volts?

#include <optional>

#include "core/rectifier_parts.hpp"

namespace firstglow::sim {

/// Reverse amps of one hot diode when the record gives none [A]: 1N4007 at 100 C [1N4007-DS].
inline constexpr double kUsualLeakageAmps = 50e-6;

/// Volts on the worst diode of a string at `string_v`, over an even share.
///
/// Model: n equalisers of R within their tolerance; the worst diode has the highest R and leaks
/// nothing, all others the lowest R and the full leakage. With string current I
///
///     v_1 = I R_high,   v_k = (I - I_leak) R_low,   v_1 + (n - 1) v_k = string_v.
///
/// An avalanche string passes its current on and shares evenly as far as the limit matters: 1.
/// Left out: stored charge at turn-off (snubbers), which at 60 Hz and 1 A is small beside this.
/// @returns empty when the string has neither equalisers nor avalanche types: not known.
/// Source: Kirchhoff's laws; by hand in tests/studies.
[[nodiscard]] std::optional<double> worst_share(const core::SiliconDiode& diode, double string_v);

}  // namespace firstglow::sim
