#pragma once
/// @file
/// What do the answers look like? One picture each, from the numbers of a study.

#include "sim/report/sheet/html.hpp"
#include "sim/report/sheet/sheet.hpp"

namespace firstglow::sim {

/// The supply against the variac, with its band, stage by stage; room for one's own points.
[[nodiscard]] Markup ramp_plot(const RampupResult& rampup);
/// Watts of the series lamp on a good rig against the variac, stage by stage.
[[nodiscard]] Markup lamp_plot(const RampupResult& rampup);
/// Volts across the capacitors after a cold switch-on, with their ratings, and when tubes draw.
[[nodiscard]] Markup switch_on_plot(const core::Rig& rig, const MarginsResult& margins);
[[nodiscard]] Markup discharge_plot(const BleedResult& bleed);
[[nodiscard]] Markup rebound_plot(const BleedResult& bleed);
[[nodiscard]] Markup inrush_plot(const core::Rig& rig, const InrushResult& inrush);
[[nodiscard]] Markup scope_plot(const ScopeResult& scope);
[[nodiscard]] Markup reform_plot(const ReformResult& reform);

}  // namespace firstglow::sim
