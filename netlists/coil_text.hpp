#pragma once
/// @file
/// How do coils with iron and thermistors read as SPICE text?

#include "netlists/spice_text.hpp"

namespace firstglow::netlists {

/// The lines of one element. Its state (flux in Vs, temperature in K) stands as volts on the inner
/// node. Every argument is held where the functions stay finite, for the solver's first guesses.
[[nodiscard]] SpiceLines coil_lines(ElementIndex index, const SaturatingCoilElement& coil);
[[nodiscard]] SpiceLines coil_lines(ElementIndex index, const SinhCoilElement& coil);
[[nodiscard]] SpiceLines ntc_lines(ElementIndex index, const NtcElement& ntc);

}  // namespace firstglow::netlists
