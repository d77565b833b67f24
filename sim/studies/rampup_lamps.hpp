#pragma once
/// @file
/// Which series lamp is dim on a good rig and bright on a short?

#include <vector>

#include "core/rig.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// Tries common lamps at full mains for one stage: watts of the lamp with the rig good, and with
/// the node of the most volts shorted to the chassis. Suggested is the lamp that is brightest on
/// the short among those under 10 % of their rated watts on the good rig (below that the filament
/// is dark or dull red); when none is, the one with the widest contrast.
/// Left out: a lamp cannot show a few shorted turns; watch mains amps and heat for those.
[[nodiscard]] std::vector<LampAdvice> try_lamps(Engine& engine, const core::Rig& rig,
                                                netlists::Stage stage);

/// Nominal volts of a general-service lamp for this line.
[[nodiscard]] core::RmsVolts lamp_volts_for(const core::Rig& rig);

}  // namespace firstglow::sim
