#pragma once
/// @file
/// What was understood of a vr tube or a power tube, in the words of the trade?

#include "core/rig.hpp"
#include "sim/report/part_words.hpp"

namespace firstglow::sim {

[[nodiscard]] PartWords tube_words(const core::Rig& rig, const core::VrTube& tube);
[[nodiscard]] PartWords tube_words(const core::Rig& rig, const core::PowerTube& tube);

}  // namespace firstglow::sim
