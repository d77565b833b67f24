#include "core/limits.hpp"

#include <array>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::core {
namespace {

constexpr std::array<DischargeLimit, 5> kDischargeLimits{{
    {"power-capacitor-600", Volts(50.0), Seconds(60.0), "NEC-460-6",
     "residual charge of power capacitors in circuits up to 600 V"},
    {"power-capacitor-high", Volts(50.0), Seconds(300.0), "NEC-460-28",
     "residual charge of power capacitors in circuits above 600 V"},
    {"es1-dc", Volts(60.0), Seconds(2.0), "IEC-62368-1",
     "bound of the lowest class of DC energy source in equipment, 2 s after unplugging"},
    {"extra-low-42", Volts(42.4), Seconds(0.0), "IEC-60335-1",
     "live parts of appliances that count as not dangerous; the source gives no time"},
    {"military-30", Volts(30.0), Seconds(2.0), "MIL-HDBK-454",
     "high-voltage circuits after power is removed, else an interlock or shorting device"},
}};

constexpr std::array<Joules, 4> kEnergyTiers{Joules(100.0), Joules(10.0), Joules(1.0),
                                             Joules(0.25)};

}  // namespace

std::span<const DischargeLimit> discharge_limits() { return kDischargeLimits; }

const DischargeLimit& discharge_limit_for(Volts working) {
  FIRSTGLOW_REQUIRE(working.is_finite() && working.si() >= 0.0, "working volts are 0 or more");
  return working.si() <= 600.0 ? kDischargeLimits[0] : kDischargeLimits[1];
}

Joules hazardous_energy_at(Volts charge) {
  const double volts = std::abs(charge.si());
  if (volts < 100.0) {
    return Joules(100.0);
  }
  return volts < 400.0 ? Joules(1.0) : Joules(0.25);
}

bool is_hazardous_charge(Volts charge, Joules energy) {
  FIRSTGLOW_REQUIRE(charge.is_finite() && energy.is_finite() && energy >= Joules(0.0),
                    "volts are finite and joules are finite and 0 or more");
  return energy > hazardous_energy_at(charge);
}

std::span<const Joules> energy_tiers() { return kEnergyTiers; }

}  // namespace firstglow::core
