#pragma once
/// @file
/// Which series lamp fits which stage: one row per stage, one column per lamp.

#include <vector>

#include "sim/report/page.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

void add_lamp_table(Page& page, const std::vector<LampAdvice>& lamps);

}  // namespace firstglow::sim
