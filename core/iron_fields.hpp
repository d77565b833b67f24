#pragma once
/// @file
/// Which keys have the parts between the socket and the rectifier, and the chokes?

#include <vector>

#include "core/record_fields.hpp"

namespace firstglow::core {

/// Inlet, fuse, series lamp, variac, thermistor, step start.
void add_mains_side(std::vector<KindSpec>& kinds);
[[nodiscard]] KindSpec power_transformer_kind();
[[nodiscard]] KindSpec choke_kind();

}  // namespace firstglow::core
