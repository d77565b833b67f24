#include <gmock/gmock.h>

#include <limits>
#include <map>
#include <string>

#include "core/error.hpp"
#include "core/limits.hpp"

namespace firstglow::core {
namespace {

using namespace literals;

/// Charge of a capacitor at a voltage, as the rule sees it.
bool is_hazard(Farads capacitance, Volts charge_v) {
  return is_hazardous_charge(charge_v, stored_energy(capacitance, charge_v));
}

// [NFPA-70E-360]: from 400 V the limit is 0.25 J; by hand 2 * 0.25 J / (400 V)^2 = 3.125 uF.
TEST(EnergyLimits, TopTierBeginsAtFourHundredVolts) {
  EXPECT_FALSE(is_hazard(Farads(3.125e-6 * 0.99), 400_V));
  EXPECT_TRUE(is_hazard(Farads(3.125e-6 * 1.01), 400_V));
  EXPECT_TRUE(is_hazardous_charge(400_V, 0.26_J));
  EXPECT_FALSE(is_hazardous_charge(399_V, 0.26_J));
  EXPECT_FALSE(is_hazardous_charge(5000_V, 0.25_J));
}

// [NFPA-70E-360]: from 100 V to below 400 V the limit is 1 J; by hand 2 * 1 J / (399 V)^2 =
// 12.563 uF and 2 * 1 J / (100 V)^2 = 200 uF.
TEST(EnergyLimits, MiddleTierIsOneJoule) {
  EXPECT_FALSE(is_hazard(Farads(12.563e-6 * 0.99), 399_V));
  EXPECT_TRUE(is_hazard(Farads(12.563e-6 * 1.01), 399_V));
  EXPECT_FALSE(is_hazard(Farads(200e-6 * 0.99), 100_V));
  EXPECT_TRUE(is_hazard(Farads(200e-6 * 1.01), 100_V));
}

// [NFPA-70E-360]: below 100 V the limit is 100 J; by hand 2 * 100 J / (99 V)^2 = 20.406 mF.
TEST(EnergyLimits, LowTierIsHundredJoules) {
  EXPECT_FALSE(is_hazard(Farads(20.406e-3 * 0.99), 99_V));
  EXPECT_TRUE(is_hazard(Farads(20.406e-3 * 1.01), 99_V));
  EXPECT_FALSE(is_hazardous_charge(Volts(99.999), 1.5_J));
  EXPECT_TRUE(is_hazardous_charge(100_V, 1.5_J));
}

// A bias supply stores as much below the chassis as above it.
TEST(EnergyLimits, NegativeChargeCountsByItsMagnitude) {
  EXPECT_TRUE(is_hazardous_charge(Volts(-400.0), 0.26_J));
  EXPECT_FALSE(is_hazardous_charge(Volts(-399.0), 0.26_J));
}

TEST(EnergyLimits, UnknownChargeIsRefusedAndNeverHarmless) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW((void)is_hazardous_charge(Volts(nan), 1_J), ContractError);
  EXPECT_THROW((void)is_hazardous_charge(400_V, Joules(nan)), ContractError);
  EXPECT_THROW((void)is_hazardous_charge(400_V, Joules(-1.0)), ContractError);
}

// A report sorts by the edges of [NFPA-70E-360] 0.25 J, 1 J, 100 J and of [LBNL-ESM] 10 J.
TEST(EnergyLimits, TiersOfAReportFall) {
  EXPECT_THAT(energy_tiers(), ::testing::ElementsAre(100_J, 10_J, 1_J, 0.25_J));
}

// [LBNL-ESM] calls a capacitor hazardous from 100 V and 10 J: never stricter than [NFPA-70E-360].
TEST(EnergyLimits, SecondRuleSetIsNowhereStricter) {
  for (const double volts : {100.0, 250.0, 399.0, 400.0, 1000.0, 2500.0}) {
    EXPECT_TRUE(is_hazardous_charge(Volts(volts), 10_J)) << volts << " V";
  }
}

// [NEC-460-6] (A): 60 s up to 600 V; [NEC-460-28], [CAL-T8-2893] (a): 300 s above.
TEST(CodeDischarge, ClassBoundarySetsTheTime) {
  EXPECT_EQ(discharge_limit_for(600_V).within, 60_s);
  EXPECT_EQ(discharge_limit_for(Volts(600.1)).within, 300_s);
  EXPECT_EQ(discharge_limit_for(600_V).volts, 50_V);
  EXPECT_EQ(discharge_limit_for(2500_V).volts, 50_V);
  EXPECT_THROW((void)discharge_limit_for(Volts(-1.0)), ContractError);
}

// [IEC-62368-1] 60 V, [NEC-460-6] 50 V, [MIL-HDBK-454] 30 V in 2 s.
TEST(CodeDischarge, EveryNamedLimitHasItsVoltsAndSource) {
  std::map<std::string, double> volts;
  for (const DischargeLimit& limit : discharge_limits()) {
    volts[limit.source] = limit.volts.si();
  }
  EXPECT_EQ(volts.at("IEC-62368-1"), 60.0);
  EXPECT_EQ(volts.at("NEC-460-6"), 50.0);
  EXPECT_EQ(volts.at("NEC-460-28"), 50.0);
  EXPECT_EQ(volts.at("MIL-HDBK-454"), 30.0);
  EXPECT_EQ(volts.at("IEC-60335-1"), 42.4);
  EXPECT_EQ(discharge_limits().back().within, 2_s);
}

}  // namespace
}  // namespace firstglow::core
