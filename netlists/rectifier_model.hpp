#pragma once
/// @file
/// Which current lets a rectifier tube or a selenium stack through at which drop?

#include "core/rectifier_parts.hpp"

namespace firstglow::netlists {

/// Thermal volts k T / q at the 27 C of every deck.
inline constexpr double kThermalVolts = 0.025865;

/// Perveance P [A / V^1.5] of one plate:  i = P max(v, 0)^1.5, through the published drop point.
///
/// Left out: contact potential and emission limit. The true tube drops somewhat more at small
/// currents and far more when its emission is used up, so predicted volts are high: safe side for
/// what capacitors meet, unsafe side for whether the rig still works with a worn tube.
/// @throws ContractError when the drop point is not above 0 V and 0 A.
/// Source: three-halves power law of Child and Langmuir [LANGMUIR-1913].
[[nodiscard]] double perveance_of(const core::VacuumRectifier& tube);

/// A diode in front of a back voltage: together the published drop at the average current rating.
struct ArcModel {
  double back_v = 0.0;
  double saturation_a = 1e-9, emission = 8.0, series_ohm = 2.0;
};

/// Constant drop of a gas tube, softened by a diode so that the solver can follow.
///
/// Left out: the higher volts at which the arc strikes, and arc-back. Both leave the predicted
/// volts on the high side by some volts of many hundreds; arc-back is what the rules on filament
/// time, temperature and peak inverse volts are there to prevent.
[[nodiscard]] ArcModel arc_of(const core::GasRectifier& tube);

/// One selenium plate as a soft diode: `drop_per_plate` at the rated current, 60 % of it as
/// junction, 40 % as resistance (common practice, no source).
struct SeleniumModel {
  double saturation_a = 0.0, emission = 3.0, series_ohm = 0.0;
};

[[nodiscard]] SeleniumModel selenium_plate_of(const core::SeleniumRectifier& stack);

}  // namespace firstglow::netlists
