#include "sim/studies/bleed_limits.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "core/limits.hpp"
#include "sim/studies/linear_discharge.hpp"

namespace firstglow::sim {
namespace {

/// Charge through the body: not hazardous to touch [IEC-61010-1], and the size at which half of
/// the cases fibrillate [IEC-60479-2].
constexpr double kTouchCoulombs = 45e-6;
constexpr double kImpulseCoulombs = 5e-3;

}  // namespace

double hazard_volts(double capacitance_f) {
  // core::is_hazardous_charge: more energy is needed below 400 V and again below 100 V
  for (const double from_v : {0.0, 100.0, 400.0}) {
    const double tier_j = core::hazardous_energy_at(core::Volts(from_v)).si();
    const double volts = std::max(from_v, volts_at_energy(capacitance_f, tier_j));
    if (core::hazardous_energy_at(core::Volts(volts)).si() == tier_j) {
      return volts;
    }
  }
  return volts_at_energy(capacitance_f, core::hazardous_energy_at(core::Volts(400.0)).si());
}

double BleedLimit::volts_for(double capacitance_f) const {
  if (hazard_tier) {
    return hazard_volts(capacitance_f);
  }
  if (charge_c > 0.0) {
    return charge_c / capacitance_f;
  }
  return energy_j > 0.0 ? volts_at_energy(capacitance_f, energy_j) : volts;
}

BleedLimit volts_limit(double volts) {
  BleedLimit limit;
  limit.words = fmt::format("below {:g} V", volts);
  limit.source = volts == 50.0 ? "NEC-460-6" : "limit asked for";
  limit.volts = volts;
  limit.purpose = volts == 50.0 ? "residual charge of power capacitors" : "the user's own";
  return limit;
}

BleedLimit energy_limit(double joules) {
  BleedLimit limit;
  limit.words = fmt::format("below {:g} J", joules);
  limit.source = "limit asked for";
  limit.energy_j = joules;
  limit.purpose = "the user's own";
  return limit;
}

BleedLimit charge_limit(double coulombs) {
  BleedLimit limit;
  limit.words = coulombs < 1e-3 ? fmt::format("below {:g} uC", coulombs * 1e6)
                                : fmt::format("below {:g} mC", coulombs * 1e3);
  limit.source = "limit asked for";
  limit.charge_c = coulombs;
  limit.purpose = "the user's own";
  return limit;
}

std::optional<BleedLimit> named_limit(const std::string& name) {
  for (const core::DischargeLimit& known : core::discharge_limits()) {
    if (name == known.name) {
      BleedLimit limit = volts_limit(known.volts.si());
      limit.source = known.source;
      limit.purpose = known.purpose;
      if (known.within.si() > 0.0) {
        limit.within_s = known.within.si();
      }
      return limit;
    }
  }
  return std::nullopt;
}

std::string limit_names() {
  std::string names;
  for (const core::DischargeLimit& known : core::discharge_limits()) {
    names += fmt::format("{}{}", names.empty() ? "" : ", ", known.name);
  }
  return names;
}

std::vector<BleedLimit> bleed_limits(const BleedLimit& first) {
  std::vector<BleedLimit> limits{first};
  BleedLimit tier;
  tier.words = "below the shock hazard tier";
  tier.source = "NFPA-70E-360";
  tier.hazard_tier = true;
  tier.purpose = "work on stored energy in electrical laboratories and plants";
  limits.push_back(tier);
  for (const core::Joules joules : core::energy_tiers()) {
    BleedLimit limit = energy_limit(joules.si());
    limit.source = joules.si() == 10.0 ? "LBNL-ESM" : "NFPA-70E-360";
    limit.purpose = "edge of an energy tier";
    limits.push_back(limit);
  }
  BleedLimit touch = charge_limit(kTouchCoulombs);
  touch.source = "IEC-61010-1";
  touch.purpose = "parts of instruments that may be touched, up to 15 kV";
  BleedLimit impulse = charge_limit(kImpulseCoulombs);
  impulse.source = "IEC-60479-2";
  impulse.purpose =
      "a charge through the chest that stops the heart in half of the cases: "
      "for comparison, never a figure to aim at";
  limits.push_back(impulse);
  limits.push_back(touch);
  return limits;
}

std::vector<BleedLimit> bleed_limits(double limit_v) { return bleed_limits(volts_limit(limit_v)); }

}  // namespace firstglow::sim
