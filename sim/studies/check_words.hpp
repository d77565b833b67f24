#pragma once
/// @file
/// What follows from a record before anything is run: nets, figures, gaps, remarks.

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/check.hpp"

namespace firstglow::sim {

/// Every node with the part ends on it, in the order of the rig.
[[nodiscard]] std::vector<NetLine> net_lines(const core::Rig& rig);

/// Figures worked out for the parts, in the order of the rig. `ohms` as ohms_readings(rig).
[[nodiscard]] std::vector<DerivedFigure> derived_figures(const core::Rig& rig,
                                                         const std::vector<OhmsReading>& ohms);

/// Ratings the record does not give.
[[nodiscard]] std::vector<MissingItem> missing_items(const core::Rig& rig);

/// Remarks on the wiring and on what was assumed.
[[nodiscard]] std::vector<std::string> wiring_remarks(const core::Rig& rig);

}  // namespace firstglow::sim
