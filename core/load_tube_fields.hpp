#pragma once
/// @file
/// Which keys have the kinds `vr_tube` and `power_tube`?

#include <vector>

#include "core/record_fields.hpp"

namespace firstglow::core {

void add_load_tube_kinds(std::vector<KindSpec>& kinds);

}  // namespace firstglow::core
