// How long the demo's capacitors stay charged, and what happens when a path is open.
#include "sim/studies/bleed.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/rig_reader.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

BleedResult bleed_of(const core::Rig& rig, int workers = 2, double limit_v = 50.0) {
  WorkerPool pool(PoolOptions{workers, ""});
  BleedOptions options;
  options.limit = volts_limit(limit_v);
  return bleed(rig, options, pool);
}

const BleedResult& demo_bleed() {
  static const BleedResult kResult = bleed_of(demo());
  return kResult;
}

const DischargeCase* case_named(const BleedResult& result, const std::string& open_part) {
  const auto found = std::find_if(result.cases.begin(), result.cases.end(),
                                  [&](const DischargeCase& c) { return c.open_part == open_part; });
  return found == result.cases.end() ? nullptr : &*found;
}

const CapacitorDischarge& capacitor(const DischargeCase& shown, const std::string& part) {
  return *std::find_if(shown.capacitors.begin(), shown.capacitors.end(),
                       [&](const CapacitorDischarge& c) { return c.part == part; });
}

std::vector<core::Finding> findings_of(const BleedResult& result, const std::string& rule,
                                       const std::string& part) {
  std::vector<core::Finding> found;
  std::copy_if(result.findings.begin(), result.findings.end(), std::back_inserter(found),
               [&](const core::Finding& f) { return f.rule == rule && f.part == part; });
  return found;
}

// The light load of a choke input lets the stack ring up above the average of the winding.
TEST(BleedDemo, StartsAboveNineHundredVoltsAcrossTheStack) {
  const DischargeCase& slowest = demo_bleed().cases.front();
  EXPECT_GT(capacitor(slowest, "C1").start_v + capacitor(slowest, "C2").start_v, 900.0);
  EXPECT_THAT(demo_bleed().start, HasSubstr("cold switch-on"));
}

// By hand: the slowest single mode is the can with +50 % on its own equaliser beside the other can
// and the bleeder; whatever the split, it cannot be slower than both cans at 60 uF emptied by
// their own equaliser alone, nor quicker than 30 uF on 27.5k beside 100.8k.
TEST(BleedDemo, SlowestTimeLiesBetweenTheSlowestAndTheQuickestMode) {
  const DischargeCase& slowest = demo_bleed().cases.front();
  const CapacitorDischarge& can = capacitor(slowest, "C1");
  const double turns = std::log(can.start_v / 50.0);
  const double quick_s = 30e-6 / (1.0 / 27.5e3 + 1.0 / 100.8e3);
  EXPECT_GT(can.limits.front().time_s.value(), quick_s * turns);
  EXPECT_LT(can.limits.front().time_s.value(), 60e-6 * 52e3 * turns);
}

// By hand: 100.8k alone against 25k beside 100.8k is 5 times slower for the stack as a whole, seen
// on the screen bypass, which follows B+.
TEST(BleedDemo, OpenBleederIsAboutFiveTimesSlower) {
  const DischargeCase* open = case_named(demo_bleed(), "R3");
  ASSERT_NE(open, nullptr);
  const double ratio = capacitor(*open, "C5").limits.front().time_s.value() /
                       capacitor(demo_bleed().cases.front(), "C5").limits.front().time_s.value();
  EXPECT_GT(ratio, 4.0);
  EXPECT_LT(ratio, 6.0);
}

// The figures that docs/methods/discharge.md names; seen in this program, not on paper.
TEST(BleedDemo, KeepsTheTimesOfTheMethodPage) {
  const auto first_limit_s = [](const DischargeCase& shown) {
    return capacitor(shown, "C1").limits.front().time_s.value();
  };
  EXPECT_NEAR(first_limit_s(demo_bleed().cases[0]), 4.68, 0.05);
  EXPECT_NEAR(first_limit_s(demo_bleed().cases[1]), 0.91, 0.02);
  EXPECT_NEAR(first_limit_s(*case_named(demo_bleed(), "R1")), 16.5, 0.2);
}

TEST(BleedDemo, ScreenBypassNeverEmptiesWithItsDropperOpen) {
  const DischargeCase* open = case_named(demo_bleed(), "R7");
  ASSERT_NE(open, nullptr);
  EXPECT_FALSE(capacitor(*open, "C5").limits.front().time_s);
  EXPECT_EQ(open->last_part, "C5");
  EXPECT_FALSE(open->last_s);
  EXPECT_TRUE(open->failure.empty());
  EXPECT_NEAR(capacitor(*open, "C5").volts.back(), capacitor(*open, "C5").start_v, 1e-6);
}

TEST(BleedDemo, LeavesOutPathsThatChangeNothing) {
  EXPECT_EQ(case_named(demo_bleed(), "F1"), nullptr);
  EXPECT_EQ(case_named(demo_bleed(), "L1"), nullptr);
}

// C3 and C4 have their plus on the chassis: volts plus to minus are positive there too.
TEST(BleedDemo, BiasCansStartInTheirOwnPolarity) {
  const DischargeCase& slowest = demo_bleed().cases.front();
  EXPECT_GT(capacitor(slowest, "C3").start_v, 70.0);
  EXPECT_LT(capacitor(slowest, "C3").start_v, 110.0);
  EXPECT_GT(capacitor(slowest, "C4").start_v, 60.0);
}

TEST(BleedDemo, AgreesWithTheEngine) {
  EXPECT_GT(demo_bleed().engine_deviation, 0.0);
  EXPECT_LT(demo_bleed().engine_deviation, 1e-4);
  for (const DischargeCase& shown : demo_bleed().cases) {
    EXPECT_EQ(shown.failure, "") << shown.name;
  }
}

TEST(BleedDemo, NominalIsQuickerThanTheSlowestCorner) {
  const DischargeCase& slowest = demo_bleed().cases[0];
  const DischargeCase& nominal = demo_bleed().cases[1];
  EXPECT_FALSE(nominal.worst_corner);
  for (const CapacitorDischarge& can : nominal.capacitors) {
    EXPECT_LT(can.limits.front().time_s.value(),
              capacitor(slowest, can.part).limits.front().time_s.value())
        << can.part;
  }
}

TEST(BleedDemo, JudgesEveryCapacitorAgainstTheCode) {
  for (const char* part : {"C1", "C2", "C3", "C4", "C5"}) {
    const auto found = findings_of(demo_bleed(), "discharge-time", part);
    ASSERT_EQ(found.size(), 1U) << part;
    EXPECT_EQ(found.front().verdict, core::Verdict::safe) << part;
    EXPECT_THAT(found.front().note, HasSubstr("rebound")) << part;
  }
  EXPECT_EQ(findings_of(demo_bleed(), "discharge-time", "C1").front().limit_source, "NEC-460-28");
  EXPECT_EQ(findings_of(demo_bleed(), "discharge-time", "C3").front().limit_source, "NEC-460-6");
}

// By hand: some 560 V to 930 V on 25k (22.5k at its low end).
TEST(BleedDemo, BleederDutyFollowsFromItsVolts) {
  const auto duty = std::find_if(demo_bleed().bleeders.begin(), demo_bleed().bleeders.end(),
                                 [](const BleederDuty& d) { return d.part == "R3"; });
  ASSERT_NE(duty, demo_bleed().bleeders.end());
  EXPECT_GT(duty->volts_dc, 500.0);
  EXPECT_LT(duty->volts_dc, 950.0);
  EXPECT_NEAR(duty->watts, duty->volts_dc * duty->volts_dc / 22.5e3, 0.1 * duty->watts);
  EXPECT_EQ(findings_of(demo_bleed(), "resistor-watts", "R3").size(), 1U);
}

TEST(Bleed, LowerLimitTakesLonger) {
  const BleedResult low = bleed_of(demo(), 2, 30.0);
  EXPECT_GT(capacitor(low.cases.front(), "C1").limits.front().time_s.value(),
            capacitor(demo_bleed().cases.front(), "C1").limits.front().time_s.value());
  EXPECT_THROW((void)bleed_of(demo(), 1, 0.0), core::ContractError);
}

TEST(Bleed, DoesNotDependOnTheNumberOfWorkers) {
  const BleedResult one = bleed_of(demo(), 1);
  ASSERT_EQ(one.cases.size(), demo_bleed().cases.size());
  for (std::size_t i = 0; i < one.cases.size(); ++i) {
    EXPECT_EQ(one.cases[i].name, demo_bleed().cases[i].name);
    EXPECT_EQ(one.cases[i].last_s, demo_bleed().cases[i].last_s);
    for (std::size_t k = 0; k < one.cases[i].capacitors.size(); ++k) {
      EXPECT_EQ(one.cases[i].capacitors[k].volts, demo_bleed().cases[i].capacitors[k].volts);
    }
  }
  EXPECT_EQ(one.start, demo_bleed().start);
}

// A capacitor with nothing across it is never called discharged.
TEST(Bleed, SupplyWithoutBleederIsUnsafe) {
  test::RigMaker maker = test::small_supply();
  core::Rig rig = maker.rig();
  std::erase_if(rig.parts, [](const core::Part& part) { return part.designator == "R1"; });
  const BleedResult result = bleed_of(rig);
  const auto found = findings_of(result, "discharge-time", "C1");
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found.front().verdict, core::Verdict::unsafe);
  EXPECT_FALSE(found.front().value);
  EXPECT_THAT(found.front().note, HasSubstr("Never"));
}

// Without ratings the bleeder has no verdict, not a good one.
TEST(Bleed, UnratedBleederGivesNoVerdict) {
  const BleedResult result = bleed_of(test::small_supply().rig());
  const auto found = findings_of(result, "resistor-watts", "R1");
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found.front().verdict, core::Verdict::no_verdict);
}

// By hand: 10 uF on 50k + 10 %, drifted by 20 % more (its watts are not known, so it may be
// carbon), gives R C ln(start / 50) with R C = 0.66 s.
TEST(Bleed, SimpleSupplyFollowsTheClosedForm) {
  const BleedResult result = bleed_of(test::small_supply().rig());
  const CapacitorDischarge& can = capacitor(result.cases.front(), "C1");
  EXPECT_NEAR(can.limits.front().time_s.value(), 66e3 * 10e-6 * std::log(can.start_v / 50.0), 1e-4);
  EXPECT_NEAR(can.start_j, 0.5 * 10e-6 * can.start_v * can.start_v, 1e-9);
}

}  // namespace
}  // namespace firstglow::sim
