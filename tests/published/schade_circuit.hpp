#pragma once
/// @file
/// What does the circuit of [SCHADE-1943] do in periodic steady state? Worked out twice: as an
/// event-driven ideal-diode problem for CVODE, and as a deck for the engine.
///
/// Circuit: sine of peak Vm, ideal diodes, series resistance RS in the conducting path (in each
/// leg of the full wave, in the common lead of the doubler), capacitor C (each of the doubler's
/// two), load RL across the output.

#include "netlists/deck.hpp"

namespace firstglow::published {

enum class Rectifier { half_wave, full_wave, doubler };

struct SchadeCase {
  Rectifier rectifier = Rectifier::half_wave;
  double wcr = 1.0;         ///< omega C RL
  double rs_over_rl = 0.0;  ///< RS / RL
};

struct SchadeFigures {
  double mean = 0.0;              ///< Vdc / Vm
  double ripple_percent = 0.0;    ///< rms ripple over Vdc
  double swing = 0.0;             ///< Vpp / Vm
  double peak_over_mean_a = 0.0;  ///< of one diode's current
  double rms_over_mean_a = 0.0;   ///< of one diode's current
  double conduction_deg = 0.0;    ///< of one diode, per cycle
};

/// Ideal diodes, switched at the roots that CVODE finds; periodic state by Newton's method.
[[nodiscard]] SchadeFigures schade_by_cvode(const SchadeCase& circuit);

/// Vdc / Vm for infinite C: v = cos t (2 cos t for the doubler) with half the conduction angle t
/// from tan t - t = pi RS/RL (half wave), pi RS/(2 RL) (full wave), 2 pi RS/RL (doubler).
[[nodiscard]] double schade_limit(Rectifier rectifier, double rs_over_rl);

struct SchadeDeck {
  netlists::Deck deck;
  netlists::DeckNode plus = 0, minus = 0;  ///< output
  netlists::ElementIndex diode = -1;       ///< one of the diodes
};

inline constexpr double kSchadePeakV = 10'000.0;
inline constexpr double kSchadeHertz = 60.0;

/// 10 kV peak, 60 Hz, RL = 100 kohm, diodes of 0.05 V at 0.1 A: 5 ppm of Vm.
[[nodiscard]] SchadeDeck schade_deck(const SchadeCase& circuit);

/// One settled cycle of the deck by the engine, 400 steps.
[[nodiscard]] SchadeFigures schade_by_engine(const SchadeCase& circuit);

}  // namespace firstglow::published
