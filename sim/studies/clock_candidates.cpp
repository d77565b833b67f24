#include "sim/studies/clock_candidates.hpp"

#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/bleed_moments.hpp"

namespace firstglow::sim {
namespace {

constexpr double kMostDrift = 20.0;
constexpr double kLeastCapacitance = 0.05;
constexpr double kFilterFarads = 0.25e-6;
constexpr double kBeyondTolerance = 0.10;  ///< less than this past its tolerance is no fault

}  // namespace

std::vector<ClockCandidate> clock_candidates(const core::Rig& rig) {
  std::vector<ClockCandidate> all{ClockCandidate{}};
  for (const std::string& path : discharge_paths(rig)) {
    all.push_back({ClockFault::open, path, 1.0, 1.0});
  }
  for (const core::Part& part : rig.parts) {
    if (const auto* r = std::get_if<core::Resistor>(&part.data); r != nullptr && bleeds(*r)) {
      all.push_back({ClockFault::drifted, part.designator,
                     (1.0 + r->value.tolerance.plus) * (1.0 + kBeyondTolerance), kMostDrift});
    }
    if (const auto* c = std::get_if<core::Capacitor>(&part.data);
        c != nullptr && c->value.nominal().si() >= kFilterFarads) {
      all.push_back({ClockFault::low_capacitance, part.designator, kLeastCapacitance,
                     (1.0 - c->value.tolerance.minus) * (1.0 - kBeyondTolerance)});
    }
  }
  return all;
}

std::string name_of(const ClockCandidate& candidate) {
  switch (candidate.fault) {
    case ClockFault::intact:
      return "intact";
    case ClockFault::open:
      return candidate.part + " open";
    case ClockFault::drifted:
      return candidate.part + " drifted";
    case ClockFault::low_capacitance:
      break;
  }
  return candidate.part + " low";
}

}  // namespace firstglow::sim
