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

}  // namespace firstglow::sim
