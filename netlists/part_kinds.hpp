#pragma once
/// @file
/// What is a part for, as far as bring-up stages care?

#include <optional>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::netlists {

/// Plain or dropper resistor.
[[nodiscard]] bool is_series_resistor(const core::Part& part);

/// Fuse, thermistor, step start, plain or dropper resistor: its stage follows from what it lies
/// between.
[[nodiscard]] bool is_path_part(const core::Part& part);

/// Electrolytic, or at least 0.25 uF; everything smaller is a bypass (common practice, no source).
[[nodiscard]] bool is_filter_capacitor(const core::Capacitor& capacitor);

/// Does a load of this kind draw at the stage?
[[nodiscard]] bool draws_at(core::DrawnWhen when, Stage stage);

/// DC ohms of a part that may serve as the return of a winding to the chassis (fuse, choke, plain
/// or dropper resistor); empty for every other kind.
[[nodiscard]] std::optional<double> return_ohm(const core::Part& part);

}  // namespace firstglow::netlists
