#pragma once
/// @file
/// Does ngspice, with its real diodes, find the same discharge?

#include <set>
#include <string>

#include "sim/engine/engine.hpp"
#include "sim/studies/bleed_islands.hpp"

namespace firstglow::sim {

/// Largest |exact - ngspice| over the start volts of the capacitor, over all capacitors that start
/// with 1 V or more, from 0 to `stop_s`. The engine's circuit keeps diodes, core and windings;
/// ties and leakage are raised until they carry nothing.
/// With `bound`, the engine's magnitudes are held against that bound (from 0 to `stop_s`) and only
/// what goes above it counts.
/// @param start_v  volts of the capacitors at the start, by part index; 0 V where none is given
/// @throws SimulationError when the run gives no answer.
[[nodiscard]] double engine_deviation(Engine& engine, const core::Rig& rig,
                                      const netlists::Situation& situation,
                                      const ChargeMoment& start_v, double stop_s,
                                      const BleedModel* bound = nullptr);

}  // namespace firstglow::sim
