#pragma once
/// @file
/// Which parts of a rig have a heater, between which nodes, and at which volts?

#include <string>
#include <vector>

#include "core/rig.hpp"

namespace firstglow::sim {

struct HeatedPart {
  std::string designator;
  core::NodeIndex a = core::kOpenNode, b = core::kOpenNode;
  double rated_vrms = 0.0;
  bool gas_filled = false;  ///< its filament has the narrower band
};

/// Heaters and heated rectifier tubes, in the order of the record.
[[nodiscard]] std::vector<HeatedPart> heated_parts(const core::Rig& rig);

}  // namespace firstglow::sim
