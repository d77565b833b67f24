#pragma once
/// @file
/// Study results filled in by hand: plausible, small, with every kind of row in them.

#include "core/rig.hpp"
#include "sim/studies/bleed.hpp"
#include "sim/studies/check.hpp"
#include "sim/studies/inrush.hpp"
#include "sim/studies/margins.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::test {

[[nodiscard]] core::Rig demo_rig();
[[nodiscard]] sim::CheckResult sample_check();
[[nodiscard]] sim::RampupResult sample_rampup();
[[nodiscard]] sim::MarginsResult sample_margins();
[[nodiscard]] sim::BleedResult sample_bleed();
[[nodiscard]] sim::InrushResult sample_inrush();

/// Text that would clear a terminal, set its title, turn a line round and ring the bell.
inline constexpr const char* kHostile =
    "R1\x1b[2J\x1b]0;x\x07\r\n\xe2\x80\xae\xc2\x9b"
    "31m\xff";

}  // namespace firstglow::test
