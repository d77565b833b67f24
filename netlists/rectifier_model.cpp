#include "netlists/rectifier_model.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::netlists {
namespace {

constexpr double kJunctionShare = 0.6;  // of a selenium plate's drop
constexpr double kUsualArcAmps = 0.25;  // where a drop is taken to hold without a rating

}  // namespace

double perveance_of(const core::VacuumRectifier& tube) {
  FIRSTGLOW_REQUIRE(tube.drop_volts.si() > 0.0 && tube.drop_current.si() > 0.0,
                    "a vacuum rectifier has a drop point above 0 V and 0 A");
  return tube.drop_current.si() / std::pow(tube.drop_volts.si(), 1.5);
}

ArcModel arc_of(const core::GasRectifier& tube) {
  FIRSTGLOW_REQUIRE(tube.drop_volts.si() > 0.0, "a gas rectifier has a drop above 0 V");
  ArcModel arc;
  const double amps = tube.average_current ? tube.average_current->si() : kUsualArcAmps;
  const double soft_v =
      arc.emission * kThermalVolts * std::log1p(amps / arc.saturation_a) + arc.series_ohm * amps;
  arc.back_v = std::max(0.0, tube.drop_volts.si() - soft_v);
  return arc;
}

SeleniumModel selenium_plate_of(const core::SeleniumRectifier& stack) {
  FIRSTGLOW_REQUIRE(stack.drop_per_plate.si() > 0.0 && stack.average_current.si() > 0.0,
                    "a selenium plate has a drop above 0 V at a current above 0 A");
  SeleniumModel plate;
  const double amps = stack.average_current.si();
  const double junction_v = kJunctionShare * stack.drop_per_plate.si();
  plate.saturation_a = amps / std::expm1(junction_v / (plate.emission * kThermalVolts));
  plate.series_ohm = (1.0 - kJunctionShare) * stack.drop_per_plate.si() / amps;
  return plate;
}

}  // namespace firstglow::netlists
