#pragma once
/// @file
/// Does ngspice, with its real diodes, find the same discharge?

#include <map>
#include <optional>
#include <string>

#include "sim/engine/engine.hpp"
#include "sim/studies/bleed_islands.hpp"

namespace firstglow::sim {

/// How far the engine lies off, and where.
struct EngineDeviation {
  double share = 0.0;   ///< of the start volts of the capacitor
  int part = -1;        ///< index into Rig::parts of that capacitor
  double time_s = 0.0;  ///< when
};

/// Largest |exact - ngspice| over the start volts of the capacitor, over all capacitors that start
/// with 1 V or more, from 0 to `stop_s`. The engine's circuit keeps diodes, core and windings;
/// ties and leakage are raised until they carry nothing, and resistors alone in series with a
/// capacitor have the ohms that LinearDischarge gives them (up to 1 us / C: against the 22 us of
/// 1 nF on a grid leak that would count as 1.6 %).
/// Where rectifiers conduct on the way the piecewise linear course is what is compared.
/// @param start_v  volts of the capacitors at the start, by part index; 0 V where none is given
/// @throws SimulationError when the run gives no answer.
[[nodiscard]] EngineDeviation engine_deviation(Engine& engine, const core::Rig& rig,
                                               const netlists::Situation& situation,
                                               const ChargeMoment& start_v, double stop_s);

/// Last time at which each capacitor is above its limit in the engine's run, by part index; empty
/// when it still is at `stop_s`.
/// @param limit_v  by part index
/// @throws SimulationError when the run gives no answer.
[[nodiscard]] std::map<int, std::optional<double>> engine_times(
    Engine& engine, const core::Rig& rig, const netlists::Situation& situation,
    const ChargeMoment& start_v, double stop_s, const std::map<int, double>& limit_v);

}  // namespace firstglow::sim
