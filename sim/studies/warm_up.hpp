#pragma once
/// @file
/// How long after switch-on does a tube do its work?

#include <optional>

#include "core/rig.hpp"

namespace firstglow::sim {

/// Warm-up of the slowest rectifier tube of the rig [s]; 0 when it has none.
[[nodiscard]] double rectifier_warm_up_s(const core::Rig& rig);

/// Warm-up of the slowest load tube whose record or type says it [s]; empty when none does.
[[nodiscard]] std::optional<double> slowest_load_s(const core::Rig& rig);

}  // namespace firstglow::sim
