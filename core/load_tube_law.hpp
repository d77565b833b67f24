#pragma once
/// @file
/// How much current does a grid-controlled tube draw at given volts?

namespace firstglow::core {

/// Constants of the space-charge law of one tube; all volts against its cathode.
struct TubeLaw {
  double perveance = 0.0;    ///< A per volt^1.5
  double mu = 1.0;           ///< of the plate in a triode, of the screen in a tetrode
  double offset_v = 0.0;     ///< contact potential and whatever the published point needs
  double tail_v = 1.0;       ///< width of the rounded foot at cut-off; > 0
  double plate_share = 1.0;  ///< of the space current at high plate volts; 1 in a triode
  double knee_v = 1.0;       ///< plate volts at which half of that share has turned to the screen
};

/// A published operating point without signal, one tube. Screen volts and amps are 0 in a triode.
struct ClassAPoint {
  double plate_v = 0.0, screen_v = 0.0, grid_v = 0.0;
  double plate_a = 0.0, screen_a = 0.0;
  double gm_s = 0.0;  ///< grid to plate
  double mu = 1.0;    ///< as TubeLaw::mu
};

/// Constants that give the point's plate current, its gm, its mu and its screen current exactly.
///
///     i = K s(x)^1.5,  x = v_grid + v_screen / mu + offset,  s(x) = tail ln(1 + exp(x / tail)),
///     i_plate = i q,  i_screen = i (1 - q),  q = share (2 / pi) atan(v_plate / knee);
///
/// a triode has the plate volts in the place of the screen's and q = 1. s(x) is the 3/2-power
/// law's max(0, x) with a rounded foot, as real grids, wound unevenly, cut off gradually.
/// x solves s'(x) / s(x) = gm / (1.5 i_plate), K and the offset follow.
///
/// Left out: secondary emission (tetrode kink), grid current, emission limit, the rise of plate
/// current with plate volts beyond the knee. The emission limit and the drop of a positive grid
/// would only lower the current, so a tube without bias comes out too hot, never too cold.
/// @param tail_v  [V]; > 0 and below 1.5 i_plate / gm.
/// @throws ContractError when the point is out of range.
/// Source: 3/2-power law, worked out; atan knee: common practice, no source.
[[nodiscard]] TubeLaw law_through(const ClassAPoint& point, double tail_v);

/// Sets `plate_share` and `knee_v` so that the point's currents are split as published.
void split_through(const ClassAPoint& point, TubeLaw& law);

/// Space current [A], plate and screen together; 0 or more.
/// @param control_v  screen volts, or plate volts in a triode.
[[nodiscard]] double space_current_a(const TubeLaw& law, double grid_v, double control_v);

/// Share of the space current that lands on the plate of a tetrode, 0 to 1.
[[nodiscard]] double share_on_plate(const TubeLaw& law, double plate_v);

/// Grid volts (negative) at which the tube is held to be cut off: x = -3 tail, where its current
/// is about K (tail / 20)^1.5.
[[nodiscard]] double cutoff_grid_v(const TubeLaw& law, double control_v);

/// Beyond this many tails the rounded foot is the straight line itself (and exp() stays finite).
inline constexpr double kMostTails = 50.0;
/// An electrode lets go of its current below this [V].
inline constexpr double kElectrodeGateV = 1.0;

}  // namespace firstglow::core
