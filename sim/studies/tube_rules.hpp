#pragma once
/// @file
/// What do rectifier tubes ask of the circuit around them, before anything is run?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"

namespace firstglow::sim {

/// Capacitance right at a rectifier tube's cathode: over the nodes of its cathode and filament and
/// the winding that heats it, through fuses and series resistors up to 1 kohm, highest value in
/// tolerance. 0 F: choke input.
/// Left out: capacitors behind a choke, however small. The resistors passed would lower the peaks,
/// so counting what is behind them errs to the safe side.
[[nodiscard]] core::Farads input_capacitance(const core::Rig& rig,
                                             const core::RectifierHeater& heater,
                                             core::NodeIndex cathode);
[[nodiscard]] bool has_capacitor_input(const core::Rig& rig, const core::VacuumRectifier& tube);

/// Supply of one plate: open-circuit volts of its part of the winding at nominal line, and the ohms
/// in its way, R_half + R_primary (V_half / V_primary)^2 + resistors between winding and plate.
/// Left out: the ohms of the line, which would only add.
struct PlateSupply {
  core::RmsVolts volts;
  core::Ohms ohms;
};
/// Empty when the plate is not fed from a winding with a tap or end on the other side of the
/// circuit that the record says.
[[nodiscard]] std::optional<PlateSupply> plate_supply(const core::Rig& rig, core::NodeIndex plate);

/// Findings `rectifier-input-capacitor` and `rectifier-plate-ohms` for each vacuum rectifier with a
/// capacitor input; none for choke input.
[[nodiscard]] std::vector<core::Finding> tube_rule_findings(const core::Rig& rig);

/// Why plate volts cannot be kept back until the filament is hot: the two hang on one transformer,
/// or both transformers on what the variac drives. Empty when they can, or for other parts.
[[nodiscard]] std::string no_filament_first(const core::Rig& rig, const core::Part& gas_tube);

}  // namespace firstglow::sim
