#pragma once
/// @file
/// Which vr tubes glow on each step of a pass?

#include "sim/report/page.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// Nothing when the pass has no vr tube in circuit.
void add_regulator_table(Page& page, const RampPass& pass);

}  // namespace firstglow::sim
