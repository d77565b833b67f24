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
/// @throws SimulationError when the run gives no answer.
[[nodiscard]] double engine_deviation(Engine& engine, const BleedCircuit& circuit,
                                      const std::set<std::string>& lifted, const Corner& corner,
                                      double stop_s);

}  // namespace firstglow::sim
