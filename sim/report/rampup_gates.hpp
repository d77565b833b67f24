#pragma once
/// @file
/// What stands at the top of a stage before anybody turns the dial?

#include "sim/report/page.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// What to wait for at this stage because of rectifier tubes.
void add_gates(Page& page, const RampPass& pass);

/// Steps without a prediction or refused, and steps on which a rectifier tube does not or may not
/// conduct; steps that say the same stand on one line.
void add_step_warnings(Page& page, const RampPass& pass);

}  // namespace firstglow::sim
