#pragma once
/// @file
/// What was understood of one part, in the words of the trade?

#include <string>
#include <vector>

#include "core/rig.hpp"

namespace firstglow::sim {

struct PartWords {
  std::string kind;   ///< "resistor (bleeder)"
  std::string nodes;  ///< "B+ to CHASSIS", "anode HV1, cathode RECT"
  std::vector<std::string>
      lines;  ///< value, tolerance and where it is from, ratings; one idea each
};

[[nodiscard]] PartWords part_words(const core::Rig& rig, const core::Part& part);

}  // namespace firstglow::sim
