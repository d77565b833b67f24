#pragma once
/// @file
/// How long after switch-on does a rectifier tube do its work?

#include "core/rig.hpp"

namespace firstglow::sim {

/// Published warm-up of the slowest rectifier tube of the rig [s]; 0 when it has none, or none of
/// them says it.
[[nodiscard]] double rectifier_warm_up_s(const core::Rig& rig);

}  // namespace firstglow::sim
