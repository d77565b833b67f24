#pragma once
/// @file
/// Which nodes have no DC path to the chassis, and which have only diodes on them?

#include "core/rig.hpp"
#include "netlists/deck_builder.hpp"

namespace firstglow::netlists {

/// Adds a kMeterOhm meter to the chassis at each rig node that only diodes lead to.
void add_rectifier_meters(const core::Rig& rig, BuiltDeck& built);

/// Adds a kTieOhm resistor to the chassis for each island without a DC path to it. Resistors,
/// windings, chokes and loads are paths; capacitors and diodes are not.
void tie_islands(BuiltDeck& built);

}  // namespace firstglow::netlists
