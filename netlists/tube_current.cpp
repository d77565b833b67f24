#include "netlists/tube_current.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>

#include "netlists/spice_text.hpp"

namespace firstglow::netlists {
namespace {

/// Share of the limit over which the drive gives up.
constexpr double kDriveSoftness = 0.1;
/// Beyond the limit this share of the slope is left, so that the solver finds its way back from a
/// first guess of kilovolts; the current there is below a hundredth of the drive's.
constexpr double kDriveRest = 1e-3;

/// Share of the space current that lands on end `a`.
double share_on(const SpaceCurrentElement& element, double plate_v) {
  switch (element.split) {
    case kSpacePlate:
      return core::share_on_plate(element.law, plate_v);
    case kSpaceScreen:
      return 1.0 - core::share_on_plate(element.law, plate_v);
    default:
      return 1.0;
  }
}

std::string share_text(const SpaceCurrentElement& element) {
  if (element.split == kSpaceWhole) {
    return "1";
  }
  const std::string on_plate = fmt::format(
      "{}*atan(max({},0)/{})", spice_number(element.law.plate_share * 2.0 / std::numbers::pi),
      spice_volts_between(element.plate, element.b), spice_number(element.law.knee_v));
  return element.split == kSpacePlate ? on_plate : fmt::format("(1-{})", on_plate);
}

}  // namespace

double current_a(const SpaceCurrentElement& element, const TubeVolts& volts) {
  const double gate = std::clamp(volts.electrode / core::kElectrodeGateV, 0.0, 1.0);
  return gate * share_on(element, volts.plate) *
         core::space_current_a(element.law, volts.grid, volts.control);
}

double current_a(const GridDriveElement& element, double grid_v) {
  const double share = (grid_v + element.limit_v) / (kDriveSoftness * element.limit_v);
  return element.amps * std::min(1.0, std::max(share, kDriveRest * share));
}

std::string current_text(const SpaceCurrentElement& element) {
  const core::TubeLaw& law = element.law;
  const std::string tail = spice_number(law.tail_v);
  const std::string x = fmt::format("({}+{}/{}+({}))", spice_volts_between(element.grid, element.b),
                                    spice_volts_between(element.control, element.b),
                                    spice_number(law.mu), spice_number(law.offset_v));
  // The clamps keep exp() and ln() finite whatever volts the solver tries.
  const std::string foot =
      fmt::format("({}*ln(1+exp(max(min({}/{},{}),-200)))+max(0,{}-{}))", tail, x, tail,
                  spice_number(core::kMostTails), x, spice_number(core::kMostTails * law.tail_v));
  return fmt::format("{}*pow({},1.5)*{}*min(1,max(0,{}/{}))", spice_number(law.perveance), foot,
                     share_text(element), spice_volts_between(element.a, element.b),
                     spice_number(core::kElectrodeGateV));
}

std::string current_text(const GridDriveElement& element) {
  const std::string share =
      fmt::format("(({}+{})/{})", spice_volts_between(element.a, element.b),
                  spice_number(element.limit_v), spice_number(kDriveSoftness * element.limit_v));
  return fmt::format("{}*min(1,max({},{}*{}))", spice_number(element.amps), share,
                     spice_number(kDriveRest), share);
}

}  // namespace firstglow::netlists
