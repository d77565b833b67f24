#pragma once
/// @file
/// How does a part say where its ends are connected?

namespace firstglow::core {

/// Index into Rig::nodes. Node 0 is always the chassis. kOpenNode marks an end left insulated.
using NodeIndex = int;
inline constexpr NodeIndex kChassis = 0;
inline constexpr NodeIndex kOpenNode = -1;

}  // namespace firstglow::core
