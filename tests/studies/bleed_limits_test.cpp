// Limits by name, drift of carbon resistors, the meter left on, and what is said beside the limits.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/rig_reader.hpp"
#include "sim/studies/bleed.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

BleedResult bleed_of(const core::Rig& rig, const BleedOptions& options) {
  WorkerPool pool(PoolOptions{2, ""});
  return bleed(rig, options, pool);
}

double first_time_s(const BleedResult& result) {
  return result.cases.front().capacitors.front().limits.front().time_s.value();
}

const core::Finding& time_finding(const BleedResult& result) {
  return *std::find_if(result.findings.begin(), result.findings.end(),
                       [](const core::Finding& one) { return one.rule == "discharge-time"; });
}

// [IEC-61010-1] 45 uC: on 0.1 uF that is 450 V, as the 0.1 uF and 450 V of [IEC-60335-1] say too.
TEST(BleedLimits, ChargeBecomesVoltsByTheCapacitance) {
  EXPECT_NEAR(charge_limit(45e-6).volts_for(0.1e-6), 450.0, 1e-9);
  EXPECT_NEAR(energy_limit(10.0).volts_for(20e-6), 1000.0, 1e-9);
  EXPECT_EQ(charge_limit(45e-6).words, "below 45 uC");
  EXPECT_EQ(charge_limit(5e-3).words, "below 5 mC");
}

// [MIL-HDBK-454] 30 V in 2 s; [IEC-60335-1] 42.4 V has no time of its own.
TEST(BleedLimits, NamesBringVoltsTimeAndPurpose) {
  const auto military = named_limit("military-30");
  ASSERT_TRUE(military);
  EXPECT_EQ(military->volts, 30.0);
  EXPECT_EQ(military->within_s, 2.0);
  EXPECT_NE(military->purpose, "");
  ASSERT_TRUE(named_limit("extra-low-42"));
  EXPECT_EQ(named_limit("extra-low-42")->volts, 42.4);
  EXPECT_FALSE(named_limit("extra-low-42")->within_s);
  EXPECT_FALSE(named_limit("no-such-limit"));
  EXPECT_THAT(limit_names(), HasSubstr("military-30"));
}

// By hand: 10 uF on 55 kohm takes R C ln(V / 30) = 0.55 s x ln(14 or so) = 1.4 s: inside 2 s; with
// 1 s asked for it is not.
TEST(BleedLimits, TimeAskedForComesBeforeThatOfTheLimit) {
  BleedOptions options;
  options.drift = 0.0;
  options.limit = *named_limit("military-30");
  const core::Rig rig = test::small_supply().rig();
  const BleedResult kept = bleed_of(rig, options);
  EXPECT_EQ(time_finding(kept).limit, 2.0);
  EXPECT_EQ(time_finding(kept).limit_source, "MIL-HDBK-454");
  EXPECT_EQ(time_finding(kept).verdict, core::Verdict::safe);
  options.within = core::Seconds(1.0);
  EXPECT_EQ(time_finding(bleed_of(rig, options)).verdict, core::Verdict::unsafe);
}

// By hand: the bleeder of 50 kohm 10 %, watts not known, counts as carbon: 1.1 x 1.2 = 1.32 times.
TEST(BleedDrift, LengthensTheTimeOfACarbonBleeder) {
  const core::Rig rig = test::small_supply().rig();
  BleedOptions options;
  options.drift = 0.0;
  const BleedResult fresh = bleed_of(rig, options);
  options.drift = 0.2;
  const BleedResult old = bleed_of(rig, options);
  // a lighter bleeder lets the supply rise a little, so the start is not quite the same
  EXPECT_NEAR(first_time_s(old) / first_time_s(fresh), 1.2, 0.01);
  EXPECT_THAT(old.assumptions, Contains(HasSubstr("R1")));
}

TEST(BleedDrift, LeavesMeasuredAndWireWoundResistorsAlone) {
  test::RigMaker maker;
  maker.resistor("R1", "A", "0", 1e3, core::ResistorRole::bleeder, 0.1);
  maker.resistor("R2", "A", "0", 1e3, core::ResistorRole::bleeder, 0.1);
  maker.resistor("R3", "A", "0", 1e3, core::ResistorRole::bleeder, 0.1);
  std::get<core::Resistor>(maker.rig().parts[1].data).watts = core::Watts(25.0);
  std::get<core::Resistor>(maker.rig().parts[2].data).value.measured = core::Ohms(1010.0);
  const DriftedRig drifted = with_drift(maker.rig(), 0.2);
  EXPECT_THAT(drifted.parts, ::testing::ElementsAre("R1"));
  const auto plus = [&](std::size_t i) {
    return std::get<core::Resistor>(drifted.rig.parts[i].data).value.tolerance.plus;
  };
  EXPECT_NEAR(plus(0), 0.32, 1e-12);
  EXPECT_NEAR(plus(1), 0.10, 1e-12);
  EXPECT_THROW((void)with_drift(maker.rig(), -0.1), core::ContractError);
}

// By hand: with R1 open only the meter is left on 10 uF: R C ln, 10.2 Mohm.
TEST(BleedMeter, MeterLeftOnEndsWhatWouldNeverEnd) {
  const BleedResult result = bleed_of(test::small_supply().rig(), {});
  const auto open = std::find_if(result.cases.begin(), result.cases.end(),
                                 [](const DischargeCase& one) { return one.open_part == "R1"; });
  ASSERT_NE(open, result.cases.end());
  EXPECT_FALSE(open->last_s);
  ASSERT_TRUE(open->last_with_meter_s);
  const double start_v = open->capacitors.front().start_v;
  EXPECT_NEAR(*open->last_with_meter_s, 10.2e6 * 10e-6 * std::log(start_v / 50.0), 0.05);
}

// One open part that leaves a charge for ever is a warning, not a verdict: no limit names it.
TEST(BleedWarnings, SingleBleederIsAWarningAndNoVerdict) {
  const BleedResult result = bleed_of(test::small_supply().rig(), {});
  EXPECT_THAT(result.warnings, Contains(HasSubstr("C1 empties itself only while R1 is whole")));
  EXPECT_EQ(time_finding(result).verdict, core::Verdict::safe);
}

// Wet aluminium at some 430 V, shorted for 2 s: above 50 V again. A film capacitor known to be
// polypropylene ([WIMA-DA]: 0.10 % at most) is not, whatever an evening adds: even ten times that
// figure is 4.3 V.
TEST(BleedWarnings, ReboundOfWetAluminiumIsSaidAndThatOfFilmIsNot) {
  const BleedResult wet = bleed_of(test::small_supply().rig(), {});
  EXPECT_THAT(wet.warnings, Contains(HasSubstr("REBOUND")));
  ASSERT_EQ(wet.rebounds.size(), 1U);
  EXPECT_GT(wet.rebounds.front().peak_v, 50.0);
  EXPECT_TRUE(wet.rebounds.front().above_after_s);
  test::RigMaker maker = test::small_supply();
  for (core::Part& part : maker.rig().parts) {
    if (auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      capacitor->dielectric = core::Dielectric::film;
    }
  }
  BleedOptions options;
  options.rebound.share["C1"] = 0.001;
  const BleedResult film = bleed_of(maker.rig(), options);
  EXPECT_LT(film.rebounds.front().peak_v, 4.3);
  EXPECT_THAT(film.warnings, ::testing::Not(Contains(HasSubstr("REBOUND"))));
  EXPECT_FALSE(film.rebounds.front().above_after_s);
}

BleedResult scenario(const std::string& name) {
  return bleed_of(core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/" + name + "/rig.yaml"), {});
}

// Three scenarios that once had no answer. 1 nF on a grid leak of 22 kohm: the exact course raises
// its series resistance by 1 kohm, and the engine must run the same circuit.
TEST(BleedScenarios, SmallGridCapacitorNoLongerHidesTheAnswer) {
  const BleedResult result = scenario("marlow-60");
  EXPECT_LT(result.engine_deviation.value(), 1e-3);
  for (const DischargeCase& one : result.cases) {
    EXPECT_EQ(one.failure, "") << one.name;
  }
}

// With R4 open the half rail stands while B+ falls, and passes charge on through the bridge.
TEST(BleedScenarios, RectifierThatConductsAgainIsAnswered) {
  const BleedResult result = scenario("larkmoor-120");
  const auto open = std::find_if(result.cases.begin(), result.cases.end(),
                                 [](const DischargeCase& one) { return one.open_part == "R4"; });
  ASSERT_NE(open, result.cases.end());
  EXPECT_EQ(open->failure, "");
  EXPECT_TRUE(open->rectifiers_conduct);
  // what it passes on makes the full rail slower than with every part whole
  const auto c1_s = [](const DischargeCase& one) {
    const auto c1 = std::find_if(one.capacitors.begin(), one.capacitors.end(),
                                 [](const auto& c) { return c.part == "C1"; });
    return c1->limits.front().time_s.value();
  };
  EXPECT_GT(c1_s(*open), 1.05 * c1_s(result.cases.front()));
}

// With the bleeder open nothing draws from the rail, and any volts above the peaks of the winding
// repeat themselves: 16 kV were once found. By hand: 1500 V rms of 120 V are 2245 V peak on a line
// of 127 V, and a choke input overshoots to twice that at most.
TEST(BleedScenarios, ChargeThatNothingDrawsFromIsThatOfASwitchOn) {
  const BleedResult result = scenario("harrowgate-300");
  const auto open = std::find_if(result.cases.begin(), result.cases.end(),
                                 [](const DischargeCase& one) { return one.open_part == "R1"; });
  ASSERT_NE(open, result.cases.end());
  EXPECT_EQ(open->failure, "");
  for (const CapacitorDischarge& capacitor : open->capacitors) {
    EXPECT_GT(capacitor.start_v, 2245.0) << capacitor.part;
    EXPECT_LT(capacitor.start_v, 2.0 * 2245.0) << capacitor.part;
  }
}

// With R3 open nothing draws from the low rail, and no cycle repeats the one before.
TEST(BleedScenarios, RailWithoutAnyLoadIsAnswered) {
  const BleedResult result = scenario("ternholm-ssb");
  // the two halves of the doubler are each a hazard of its own
  EXPECT_THAT(result.warnings, Contains(HasSubstr("STACK: C1 on C2")));
  EXPECT_THAT(result.warnings, Contains(HasSubstr("OTHER POLARITY: C5")));
  for (const DischargeCase& one : result.cases) {
    EXPECT_EQ(one.failure, "") << one.name;
  }
}

}  // namespace
}  // namespace firstglow::sim
