#pragma once
/// @file
/// What has to be ticked before the first step of a stage?

#include <vector>

#include "core/rig.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// The hard gates of a stage: second person, page before signed, bias before plate and screen, no
/// screen without plate, filaments at their volts. Those of rectifier tubes are RampPass::gates.
/// Common practice, no source, where none is named.
[[nodiscard]] std::vector<Tick> stage_gates(const core::Rig& rig, const RampupResult& rampup,
                                            const RampPass& pass);

}  // namespace firstglow::sim
