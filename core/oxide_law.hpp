#pragma once
/// @file
/// How much does an aluminium electrolytic leak, and what does the leakage do to it?

#include <optional>

#include "core/units.hpp"

namespace firstglow::core {

/// What belongs to one can and does not change while it forms.
struct OxideCan {
  Volts rated;                   ///< working volts, > 0
  Amps residual;                 ///< leakage at rated volts and 20 C that no forming takes away
  Amps standing;                 ///< forming current at 20 C with as many volts as the film stands
  double charge_per_volt_c;      ///< coulombs that mend the film by one volt, > 0
  double thermal_k_per_w;        ///< can to the air around it, > 0
  double heat_capacity_j_per_k;  ///< > 0
};

/// What changes: the volts the weakest part of the film stands, and the can's temperature.
struct OxideState {
  Volts formed;  ///< > 0
  Kelvin can;
};

/// d/dt of an OxideState.
struct OxideRate {
  double formed_v_per_s = 0.0;
  double can_k_per_s = 0.0;
};

/// Exponent of the field law at the forming field: 30 [GUENTHERSCHULZE-1934], from memory.
inline constexpr double kFieldExponent = 30.0;
/// Kelvin that double the leakage. Between a rule of thumb of 10 (from memory) and twofold to
/// threefold from 20 to 60 C (25 to 40 K; read on a public page): assumed.
inline constexpr double kLeakageDoublingKelvin = 15.0;
/// Share of rated volts over which the residual leakage changes e-fold: gives 28 % at 0.75 of rated
/// volts; makers' curves show 20 to 40 % there (from memory 65 %).
inline constexpr double kResidualScale = 0.25;
/// 20 C, at which leakage is stated.
inline constexpr Kelvin kLeakageReference{293.15};

/// The two parts of the leakage.
struct LeakageParts {
  Amps forming;   ///< mends the film: falls as it mends
  Amps residual;  ///< does not
  [[nodiscard]] Amps total() const { return forming + residual; }
};

/// Leakage at `across` volts with a film that stands `formed` volts.
///
/// Model: an ionic current through the thinnest film, exponential in the field (volts over film
/// thickness, and thickness goes with the volts it was formed to), and an electronic one that
/// passes without mending anything, both doubled every kLeakageDoublingKelvin:
///
///     i = 2^((T - 293 K)/15 K) [ i_s exp(B (v/v_f - 1)) + i_r (v/v_r) exp((v/v_r - 1)/0.25) ].
///
/// The exponent of the field law is continued by its tangent above 40, so that it stays finite.
/// Left out: charging and dielectric absorption (a measured current is higher in the first
/// minutes), breakdown by a spark, gas. The last two err to the unsafe side: no current predicted
/// here is a promise that a can holds.
///
/// @param across  volts plus to minus; 0 when negative (a reversed can leaks far more: not
/// modelled) Source: field law [GUENTHERSCHULZE-1934]; all else assumed, as said at the constants.
[[nodiscard]] LeakageParts leakage(const OxideCan& can, const OxideState& state, Volts across);

/// How the state moves: the film by the forming charge, the can by its heat,
///
///     dv_f/dt = i_form / q,   C_th dT/dt = v i - (T - T_air)/R_th.
///
/// `heat` is added to v i (ripple heating); 0 on the bench.
[[nodiscard]] OxideRate oxide_rate(const OxideCan& can, const OxideState& state, Volts across,
                                   Kelvin air, Watts heat = Watts());

/// Temperature at which a can with this leakage (at the air's temperature) stays, held at constant
/// volts; empty when there is none: heating outruns cooling.
///
/// Model: T - T_air = R_th P 2^((T - T_air)/15 K) has a root while a R_th P <= 1/e, a = ln 2/15 K.
/// Left out: a resistor in series, which takes the volts away as the current grows (safe side).
/// Source: worked out.
[[nodiscard]] std::optional<Kelvin> settled_temperature(const OxideCan& can, Volts across,
                                                        Amps leakage_in_cool_can, Kelvin air);

/// Largest leakage (in a can at the air's temperature) for which settled_temperature() exists.
[[nodiscard]] Amps runaway_leakage(const OxideCan& can, Volts across);

}  // namespace firstglow::core
