#pragma once
/// @file
/// What does an ohmmeter read from a node to the chassis, with everything off?

#include <vector>

#include "core/rig.hpp"
#include "sim/studies/check.hpp"

namespace firstglow::sim {

/// One reading per node of the rig except the chassis, in the order of the nodes.
///
/// Model: capacitors open (settled), chokes and windings at their DC ohms, tubes out, rectifiers
/// ideal (a short forward, open backward). Which rectifiers conduct is found by trying: all open
/// first, then each one that sees forward volts is closed and each closed one that would carry
/// reverse current is opened, until none changes.
///
/// Band: the ohms between two nodes never fall when one resistance of the network rises, also
/// with ideal rectifiers in it, because the power drawn at a given voltage is the least of all
/// ways the inner nodes could lie (Rayleigh's monotonicity law; docs/methods/ohms.md). So the
/// lowest reading is that of all resistors low, the highest that of all high.
[[nodiscard]] std::vector<OhmsReading> ohms_readings(const core::Rig& rig);

}  // namespace firstglow::sim
