#pragma once
/// @file
/// From which states is a discharge walked when rectifiers may conduct on the way?

#include <vector>

#include "sim/studies/bleed_islands.hpp"

namespace firstglow::sim {

/// Starts that between them have every corner of the box of every island that its diodes join (such
/// islands do not act on each other); of an island with more than five capacitors of unknown volts
/// the two ends, and each capacitor turned by itself. Chokes start without current.
[[nodiscard]] std::vector<std::vector<double>> conducting_starts(const BleedModel& model);

}  // namespace firstglow::sim
