#pragma once
/// @file
/// What charge and what duty does a run leave in capacitors and bleeders?

#include <map>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/bleed.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// Volts of the capacitors (plus to minus, by part index) at one moment.
using ChargeMoment = std::map<int, double>;

/// Every capacitor of the circuit at the moment each of them peaks.
[[nodiscard]] std::vector<ChargeMoment> moments_of(const core::Rig& rig, const RigRun& run);

/// Largest magnitude of each capacitor over the moments.
/// When each capacitor in the circuit has its largest volts [s from the start of the run].
[[nodiscard]] std::map<int, double> peak_times_of(const core::Rig& rig, const RigRun& run);

[[nodiscard]] std::map<int, double> peaks_of(const std::vector<ChargeMoment>& moments);

/// Is the resistor a bleeder or an equaliser?
[[nodiscard]] bool bleeds(const core::Resistor& resistor);

/// Mean volts and watts of bleeders and equalisers over the run, by part index.
[[nodiscard]] std::map<int, BleederDuty> duties_of(const core::Rig& rig, const RigRun& run);

}  // namespace firstglow::sim
