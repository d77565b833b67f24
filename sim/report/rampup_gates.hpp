#pragma once
/// @file
/// What stands at the top of a stage's sheet before anybody turns the dial?

#include "sim/report/page.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// What to wait for, and the steps on which a rectifier tube does not or may not conduct.
void add_gates(Page& page, const RampPass& pass);

}  // namespace firstglow::sim
