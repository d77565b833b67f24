#pragma once
/// @file
/// What must a ladder wait for, and where must it not go, because of rectifier tubes?

#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/studies/heater_state.hpp"

namespace firstglow::sim {

/// A gas tube's filament below this share of its rated volts is not ready for plate volts
/// [866A-DS].
inline constexpr double kGasFilamentShare = 0.95;

/// What to wait for at this stage, tube by tube, in words; empty before the rectifiers are in.
[[nodiscard]] std::vector<std::string> rectifier_gates(const core::Rig& rig, netlists::Stage stage);

/// Why no step of this stage may be taken: a gas tube whose plate volts cannot be kept back until
/// its filament is hot. Empty when every one can.
[[nodiscard]] std::string refused_ladder(const core::Rig& rig, netlists::Stage stage);

/// Why this step may not be taken: a gas tube whose filament is not at its volts. Empty when all
/// are. @param heaters  of the nominal run of the step
[[nodiscard]] std::string refused_step(const core::Rig& rig,
                                       const std::vector<HeaterState>& heaters);

/// Finding `filament-first` for every gas tube of the rig whose ladder would be refused.
[[nodiscard]] std::vector<core::Finding> filament_first_findings(const core::Rig& rig);

}  // namespace firstglow::sim
