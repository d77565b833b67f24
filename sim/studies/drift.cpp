#include "sim/studies/drift.hpp"

#include <cmath>

#include "core/error.hpp"

namespace firstglow::sim {

DriftedRig with_drift(const core::Rig& rig, double drift) {
  FIRSTGLOW_REQUIRE(std::isfinite(drift) && drift >= 0.0 && drift <= 10.0,
                    "a drift lies between 0 and 10 times");
  DriftedRig drifted{rig, {}};
  if (drift == 0.0) {
    return drifted;
  }
  for (core::Part& part : drifted.rig.parts) {
    auto* resistor = std::get_if<core::Resistor>(&part.data);
    if (resistor == nullptr || resistor->value.measured ||
        (resistor->watts && resistor->watts->si() > kLargestCarbonWatts)) {
      continue;
    }
    core::Tolerance& tolerance = resistor->value.tolerance;
    tolerance.plus = (1.0 + tolerance.plus) * (1.0 + drift) - 1.0;
    drifted.parts.push_back(part.designator);
  }
  return drifted;
}

}  // namespace firstglow::sim
