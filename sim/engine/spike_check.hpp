#pragma once
/// @file
/// Is a diode current a product of the integration method instead of the circuit?
///
/// Trapezoidal integration can ring at a turn-off in an inductive circuit and leave single
/// points of 1e3 .. 1e8 A that ruin peak and rms values. Two signs that no circuit of ours can
/// show by itself:
///
///  * reverse: a diode without stored charge carries backwards only its saturation current and
///    the current of its junction capacitance;
///  * overdrive: forward current cannot exceed the volts of the circuit over the series
///    resistance.

#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::sim {

struct DiodeTrace {
  const std::vector<double>* current_a = nullptr;  ///< through the diode, anode -> cathode
  const std::vector<double>* drive_v = nullptr;    ///< v(anode) - v(cathode)
};

/// True when the trace shows a spike. `circuit_v` is a generous bound on the voltages the
/// circuit can have.
[[nodiscard]] bool has_spike(const netlists::DiodeElement& diode, const std::vector<double>& time_s,
                             const DiodeTrace& trace, double circuit_v);

/// The same for a vacuum diode, whose current follows its volts alone: only overdrive can show.
[[nodiscard]] bool has_spike(const netlists::VacuumDiodeElement& tube,
                             const std::vector<double>& current_a, double circuit_v);

}  // namespace firstglow::sim
