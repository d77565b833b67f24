// What standards, catalogues and closed forms say of electrolytics: leakage, pre-conditioning,
// life.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/capacitor_life.hpp"
#include "core/leakage_limits.hpp"
#include "core/stack_split.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using core::Amps;
using core::Farads;
using core::Kelvin;
using core::Ohms;
using core::Seconds;
using core::Volts;

double limit_ma(const char* rule, double microfarads, double volts) {
  return 1e3 * core::find_leakage_rule(rule)->limit(Farads(microfarads * 1e-6), Volts(volts)).si();
}

TEST(LeakageLimit, PeriodRuleGivesItsWorkedValues) {
  EXPECT_TRUE(agrees(limit_ma("period", 20, 450),
                     {1.1, 0.0, 1e-9, "[JAN-C-62] worked example 20 uF 450 V"}));
  EXPECT_TRUE(agrees(limit_ma("period", 20, 250),
                     {0.7, 0.0, 1e-9, "[JAN-C-62] worked example 20 uF 250 V"}));
}

// Just inside and just outside each class of rated volts: 10 uF times K plus 0.3, by hand.
TEST(LeakageLimit, PeriodRuleChangesItsFactorByVolts) {
  EXPECT_NEAR(limit_ma("period", 10, 100), 0.4, 1e-9);
  EXPECT_NEAR(limit_ma("period", 10, 101), 0.5, 1e-9);
  EXPECT_NEAR(limit_ma("period", 10, 251), 0.55, 1e-9);
  EXPECT_NEAR(limit_ma("period", 10, 350), 0.55, 1e-9);
  EXPECT_NEAR(limit_ma("period", 10, 351), 0.7, 1e-9);
}

TEST(LeakageLimit, CatalogueFormsGiveTheirExamples) {
  EXPECT_TRUE(agrees(1e3 * limit_ma("0.01cv", 100, 450),
                     {450.0, 0.0, 0.5, "[LEAKAGE-FORMS] 0.01 C V, 100 uF 450 V"}));
  EXPECT_TRUE(agrees(1e3 * limit_ma("0.03cv", 100, 450),
                     {1350.0, 0.0, 0.5, "[LEAKAGE-FORMS] 0.03 C V, 100 uF 450 V"}));
  EXPECT_TRUE(agrees(1e3 * limit_ma("0.03cv", 1000, 35),
                     {1050.0, 0.0, 0.5, "[LEAKAGE-FORMS] 0.03 C V, 1000 uF 35 V"}));
  EXPECT_TRUE(agrees(1e3 * limit_ma("power", 100, 450),
                     {546.0, 0.0, 0.5, "[LEAKAGE-FORMS] 0.3 (C V)^0.7 + 4 uA, from memory 82 %"}));
  EXPECT_TRUE(agrees(1e3 * limit_ma("0.01cv", 1, 10), {3.0, 0.0, 1e-9, "[LEAKAGE-FORMS] floor"}));
}

TEST(Conditioning, FollowsThePublishedResistorsAndTimes) {
  const auto high = core::conditioning_rules(Volts(450.0), 20);
  ASSERT_EQ(high.size(), 3U);
  EXPECT_EQ(high[0].series, Ohms(1000.0)) << "[EIA-815] above 100 V";
  EXPECT_EQ(high[0].dwell, Seconds(3600.0)) << "[EIA-815] 1 h";
  EXPECT_EQ(high[0].discharge, Ohms(450.0)) << "[EIA-815] about 1 ohm per volt: 1 A at any volts";
  EXPECT_EQ(high[1].series, Ohms(100e3)) << "[CDE-1993] above 75 V";
  EXPECT_EQ(high[1].ceiling, Amps(1e-3)) << "[CDE-1993] 1 mA";
  EXPECT_EQ(high[2].dwell, Seconds(245.0 * 60.0)) << "[OLD-STOCK] 5 + 240 min for 20 years";
  const auto low = core::conditioning_rules(Volts(100.0), std::nullopt);
  ASSERT_EQ(low.size(), 2U);
  EXPECT_EQ(low[0].series, Ohms(100.0)) << "[EIA-815] up to 100 V";
}

TEST(Conditioning, FollowsTheYearsOnTheShelf) {
  using enum core::ShelfAdvice;
  EXPECT_EQ(core::shelf_advice(2).advice, use) << "[SHELF-NOTE] within 2 years";
  EXPECT_EQ(core::shelf_advice(3).advice, test) << "[CDE-1993] 3 years";
  EXPECT_EQ(core::shelf_advice(4).advice, condition) << "[CDE-1993] 4 years";
  EXPECT_EQ(core::shelf_advice(9).advice, condition) << "[CDE-1993]";
  EXPECT_EQ(core::shelf_advice(10).advice, reform) << "[CDE-1993] 10 years";
  EXPECT_EQ(core::shelf_advice(std::nullopt).advice, unknown);
}

const core::RatedLife kLife{Seconds(2000.0 * 3600.0), Kelvin(378.15)};

// Ten-degree rule: 40 K below is 2^4.
TEST(CapacitorLife, IsSixteenfoldFortyKelvinBelow) {
  EXPECT_TRUE(agrees(core::ten_degree_life(kLife, Kelvin(338.15)) / kLife.life,
                     {16.0, 1e-12, 0.0, "[ELCAP-LIFE] 10 K rule: 105 C against 65 C"}));
}

// At rated ripple, rated volts and rated temperature every factor is 1.
TEST(CapacitorLife, MakersFormIsOneAtItsRatings) {
  const core::CapacitorDuty duty{kLife.temperature, Amps(1.0), Amps(1.0), Volts(450.0),
                                 Volts(450.0)};
  EXPECT_DOUBLE_EQ(core::maker_life_factors(kLife, duty)->product(), 1.0);
}

// No ripple at half the volts, 105 C part: 2^0.35 x 3.59 = 4.576; twice the ripple: 4^(-3 x 0.5) =
// 1/8; 0.8 of the volts: 0.8^-2.5 = 1.747. By hand from the printed form.
TEST(CapacitorLife, MakersFormFollowsRippleAndVolts) {
  core::CapacitorDuty duty{kLife.temperature, Amps(0.0), Amps(1.0), Volts(225.0), Volts(450.0)};
  EXPECT_TRUE(agrees(core::maker_life_factors(kLife, duty)->product(),
                     {4.576, 0.0, 5e-4, "[ELCAP-LIFE] by hand: 2^0.35 x 3.59"}));
  duty.ripple = Amps(2.0);
  duty.volts = Volts(450.0);
  EXPECT_TRUE(agrees(core::maker_life_factors(kLife, duty)->ripple,
                     {0.125, 1e-9, 0.0, "[ELCAP-LIFE] by hand: 4^-1.5"}));
  duty.volts = Volts(360.0);
  EXPECT_TRUE(agrees(core::maker_life_factors(kLife, duty)->volts,
                     {1.7469, 0.0, 5e-5, "[ELCAP-LIFE] by hand: 0.8^-2.5"}));
  duty.volts = Volts(450.1);
  EXPECT_FALSE(core::maker_life_factors(kLife, duty).has_value());
}

core::StackSection section(double microfarads, double tolerance, double leak_a, double ohm) {
  return {Farads(microfarads * 1e-6 * (1.0 - tolerance)),
          Farads(microfarads * 1e-6 * (1.0 + tolerance)), Amps(leak_a), Ohms(ohm), Ohms(ohm)};
}

// 2 x 100 uF +-20 % at 700 V: 60/40.
TEST(StackCorner, SplitsByToleranceAtOnce) {
  const std::vector<core::StackSection> stack{section(100, 0.2, 0, 1), section(100, 0.2, 0, 1)};
  EXPECT_TRUE(agrees(core::fast_share(stack, 0, Volts(700.0)).si(),
                     {420.0, 1e-9, 0.0, "by hand: V (1/C) / sum(1/C)"}));
}

// 1 mA against 0.1 mA, 220 kohm each, 700 V: 99 V off the middle. The spread 0.9 mA against none
// gives the same.
TEST(StackCorner, SplitsByLeakageInTime) {
  const std::vector<core::StackSection> exact{section(100, 0, 1e-3, 220e3),
                                              section(100, 0, 0.1e-3, 220e3)};
  const auto volts = core::settled_shares(exact, Volts(700.0));
  ASSERT_TRUE(volts.has_value());
  EXPECT_TRUE(agrees(volts->at(0).si(), {251.0, 1e-9, 0.0, "by hand: 350 V - R dI/2"}));
  EXPECT_TRUE(agrees(volts->at(1).si(), {449.0, 1e-9, 0.0, "by hand: 350 V + R dI/2"}));
  const std::vector<core::StackSection> worst{section(100, 0, 0.9e-3, 220e3),
                                              section(100, 0, 0.9e-3, 220e3)};
  EXPECT_TRUE(agrees(core::slow_share(worst, 1, Volts(700.0))->si(),
                     {449.0, 1e-9, 0.0, "by hand: the same difference"}));
}

// The largest equaliser is the one whose worst corner lands on the rating: R dI/2 = 100 V.
TEST(StackCorner, FindsTheLargestEqualiser) {
  const std::vector<core::StackSection> stack{section(100, 0, 1e-3, 1e3),
                                              section(100, 0, 1e-3, 1e3)};
  const auto ohm = core::largest_equaliser(stack, Volts(700.0), Volts(450.0), 0.0);
  ASSERT_TRUE(ohm.has_value());
  EXPECT_TRUE(agrees(ohm->si(), {200e3, 1e-6, 0.0, "by hand: 2 x 100 V / 1 mA"}));
  EXPECT_FALSE(core::largest_equaliser(stack, Volts(910.0), Volts(450.0), 0.0).has_value());
}

// 450 V across 450 kohm (ten times 100 uA): 0.45 W, 1 W to be bought, and two in series, for one
// stands no more than 80 % of 500 V.
TEST(StackCorner, TakesTwoResistorsWhereOneWouldNotStandTheVolts) {
  const core::EqualiserDuty duty = core::equaliser_duty(Ohms(450e3), Volts(450.0));
  EXPECT_EQ(duty.in_series, 2);
  EXPECT_TRUE(agrees(duty.each.si(), {225e3, 1e-12, 0.0, "by hand"}));
  EXPECT_TRUE(agrees(duty.each_volts.si(), {225.0, 1e-12, 0.0, "by hand"}));
  EXPECT_TRUE(agrees(duty.each_watts.si(), {0.225, 1e-9, 0.0, "by hand: V^2/R"}));
  EXPECT_EQ(core::equaliser_duty(Ohms(100e3), Volts(250.0)).in_series, 1);
}

TEST(StackCorner, PicksPreferredValues) {
  EXPECT_DOUBLE_EQ(core::e24_below(Ohms(200e3)).si(), 200e3) << "[IEC-60063]";
  EXPECT_DOUBLE_EQ(core::e24_below(Ohms(199e3)).si(), 180e3) << "[IEC-60063]";
  EXPECT_DOUBLE_EQ(core::e24_above(Ohms(90e3)).si(), 91e3) << "[IEC-60063]";
  EXPECT_DOUBLE_EQ(core::e24_above(Ohms(95e3)).si(), 100e3) << "[IEC-60063]";
}

}  // namespace
}  // namespace firstglow::published
