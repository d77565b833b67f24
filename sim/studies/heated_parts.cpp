#include "sim/studies/heated_parts.hpp"

namespace firstglow::sim {

std::vector<HeatedPart> heated_parts(const core::Rig& rig) {
  std::vector<HeatedPart> all;
  for (const core::Part& part : rig.parts) {
    if (const auto* heater = std::get_if<core::Heater>(&part.data)) {
      all.push_back({part.designator, heater->a, heater->b, heater->rated_volts.si(), false});
    } else if (const core::RectifierHeater* tube = core::rectifier_heater(part)) {
      all.push_back({part.designator, tube->a, tube->b, tube->rated_volts.si(),
                     std::holds_alternative<core::GasRectifier>(part.data)});
    }
  }
  return all;
}

}  // namespace firstglow::sim
