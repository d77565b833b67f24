#pragma once
/// @file
/// The tables of one bring-up stage: one row per variac step, narrow enough for a sheet of paper.

#include "sim/report/page.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

void add_mains_table(Page& page, const RampPass& pass);
void add_node_tables(Page& page, const RampPass& pass);
void add_midpoint_tables(Page& page, const RampPass& pass);
void add_heat_table(Page& page, const RampPass& pass);
void add_stop_tables(Page& page, const RampPass& pass);

/// The short form of one stage, for a plan that fits a few sheets: per pass one row a step with
/// the mains, the limit to stop at and the one supply to watch; then the other supplies once.
void add_stage_ladder(Page& page, const std::vector<const RampPass*>& passes);

}  // namespace firstglow::sim
