#pragma once
/// @file
/// How much heat does a tungsten wire give off at a temperature?

#include "netlists/tungsten.hpp"

namespace firstglow::netlists {

/// Exponent n of the heat given off over absolute temperature. Above the 4 of a wire of one
/// emissivity, because tungsten radiates the better the hotter it is; worked out from the published
/// rule that a lamp's amps go as its volts to the 0.55 [RERATING]: ohms then go as watts to the
/// 0.45 / 1.55 = 0.290, and watts as T^(1.218 / 0.290).
inline constexpr double kRadiationExponent = 4.195;

/// Heat given off [W] at `kelvin` > 0: hot_w (T^n - 300^n) / (hot_k^n - 300^n); negative below room
/// temperature. Left out, and which side that errs on: TungstenParameters.
/// Source: docs/methods/lamp_and_heater.md.
[[nodiscard]] double radiated_w(const TungstenParameters& wire, double kelvin);

}  // namespace firstglow::netlists
