#include "sim/studies/warm_up.hpp"

#include <algorithm>

namespace firstglow::sim {

double rectifier_warm_up_s(const core::Rig& rig) {
  double slowest_s = 0.0;
  for (const core::Part& part : rig.parts) {
    const core::RectifierHeater* heater = core::rectifier_heater(part);
    if (heater != nullptr && heater->warm_up) {
      slowest_s = std::max(slowest_s, heater->warm_up->si());
    }
  }
  return slowest_s;
}

}  // namespace firstglow::sim
