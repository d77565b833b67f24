// The whole demo rig, from its record file to the meters.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "core/rig_reader.hpp"
#include "netlists/stack.hpp"
#include "tests/netlists/bench.hpp"

namespace firstglow::netlists {
namespace {

using test::Bench;
using ::testing::ElementsAre;

constexpr double kCycle = 1.0 / 60.0;

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

Situation at_stage(Stage stage, double angle_deg = 0.0) {
  Situation situation;
  situation.stage = stage;
  situation.closing_angle_deg = angle_deg;
  return situation;
}

double highest(const std::vector<double>& values) {
  return *std::max_element(values.begin(), values.end());
}

std::set<std::string> parts_out(Stage stage) {
  const BuiltDeck built = build_deck(demo(), at_stage(stage));
  std::set<std::string> out;
  for (std::size_t i = 0; i < demo().parts.size(); ++i) {
    if (!built.part_in[i]) {
      out.insert(demo().parts[i].designator);
    }
  }
  return out;
}

TEST(DemoDeck, HasEveryStage) {
  EXPECT_THAT(stages_of(demo()),
              ElementsAre(Stage::transformer, Stage::rectifier, Stage::filter, Stage::tubes_out,
                          Stage::heaters, Stage::key_up, Stage::key_down));
}

TEST(DemoDeck, ConnectsPartsInTheOrderOfTheBench) {
  EXPECT_THAT(parts_out(Stage::rectifier),
              ElementsAre("C1", "C2", "C3", "C4", "C5", "EXC", "HTR", "L1", "PA", "R1", "R2", "R3",
                          "R5", "R6", "R7", "SCR"));
  EXPECT_THAT(parts_out(Stage::filter), ElementsAre("C5", "EXC", "HTR", "PA", "R7", "SCR"));
  EXPECT_THAT(parts_out(Stage::tubes_out), ElementsAre("EXC", "HTR", "PA", "SCR"));
  EXPECT_THAT(parts_out(Stage::key_up), ElementsAre("PA", "SCR"));
  EXPECT_TRUE(parts_out(Stage::key_down).empty());
}

// A solver state costs a run for each Jacobian of the envelope, so their number is watched: core,
// choke, five capacitors.
TEST(DemoDeck, HasSevenStatesAndNeedsNoTies) {
  const BuiltDeck built = build_deck(demo(), at_stage(Stage::key_down));
  EXPECT_EQ(state_elements(built.deck).size(), 7U);
  EXPECT_TRUE(built.ties.empty());
  EXPECT_EQ(built.leakages.size(), 4U);
}

TEST(DemoDeck, HasOneStackOfTwoCans) {
  const std::vector<StackJoint> joints = stack_joints(demo());
  ASSERT_EQ(joints.size(), 1U);
  EXPECT_EQ(demo().node_name(joints[0].node), "MID");
  EXPECT_EQ(demo().node_name(joints[0].top), "B+");
}

// 120 V on a 117 V primary is 1.0256 times the record: 615.4 V each half, and a choke input gives
// 2 Vpeak / pi = 554 V less drops; the bleeders draw 30 mA, less than the critical current
// of 554 V / (1131 * 10) = 49 mA, so B+ lies above that.
TEST(DemoDeck, ReadsPlausibleBPlusWithTubesOut) {
  const Bench bench(demo(), at_stage(Stage::tubes_out), 2.0, kCycle / 200, 1.9);
  const double b_plus_v = bench.mean(bench.volts("B+"), 2 * kCycle);
  EXPECT_GT(b_plus_v, 570.0);
  EXPECT_LT(b_plus_v, 650.0);
  EXPECT_NEAR(bench.mean(bench.volts("MID"), 2 * kCycle) / b_plus_v, 0.495, 0.01);
  EXPECT_NEAR(bench.mean(bench.volts("SCREEN"), 2 * kCycle), b_plus_v, 0.1);
  EXPECT_LT(bench.mean(bench.volts("BIAS"), 2 * kCycle), -60.0);
}

// The mistake hidden in the demo: two 450 V cans meet about 900 V at cold switch-on.
TEST(DemoDeck, OvershootsAtColdSwitchOnAtEveryClosingAngle) {
  for (int i = 0; i < 16; ++i) {
    const double angle_deg = 22.5 * i;
    const Bench bench(demo(), at_stage(Stage::tubes_out, angle_deg), 0.3);
    const double peak_v = highest(bench.volts("B+"));
    EXPECT_GT(peak_v, 860.0) << angle_deg;
    EXPECT_LT(peak_v, 920.0) << angle_deg;
    EXPECT_LT(highest(bench.amps("D1")), 1.5) << angle_deg;  // a spike would be 1e3 A
  }
}

TEST(DemoDeck, RunsAtEveryClosingAngleWithTheKeyDown) {
  for (int i = 0; i < 16; ++i) {
    Situation situation = at_stage(Stage::key_down, 22.5 * i);
    situation.thermal = ThermalMode::moving;
    EXPECT_NO_THROW(Bench(demo(), situation, 0.2)) << situation.closing_angle_deg;
  }
}

// The normal step against one eight times smaller.
TEST(DemoDeck, GivesTheSameAtAnEighthOfTheStep) {
  const Bench coarse(demo(), at_stage(Stage::key_down), 0.3);
  const Bench fine(demo(), at_stage(Stage::key_down), 0.3, kCycle / 1600);
  EXPECT_NEAR(highest(coarse.volts("B+")), highest(fine.volts("B+")), 0.2);
  EXPECT_NEAR(coarse.mean(coarse.volts("B+"), 2 * kCycle), fine.mean(fine.volts("B+"), 2 * kCycle),
              0.1);
  EXPECT_NEAR(highest(coarse.amps("D1")), highest(fine.amps("D1")),
              0.005 * highest(fine.amps("D1")));
}

// With a lamp in the mains the rig draws less; in a rig that is whole the lamp is never full.
TEST(DemoDeck, RunsWithALampInTheMains) {
  Situation situation = at_stage(Stage::filter);
  situation.lamp = LampInSeries{core::Watts(100.0), core::RmsVolts(120.0)};
  situation.thermal = ThermalMode::moving;
  const Bench bench(demo(), situation, 1.0, kCycle / 200, 0.9);
  EXPECT_LT(bench.rms(bench.amps("P1"), kCycle), 0.5);
  EXPECT_GT(bench.mean(bench.volts("B+"), kCycle), 300.0);
}

// Switched off with the heaters hot: everything discharges through its own bleeder, nothing
// through the mains.
TEST(DemoDeck, StandsUnplugged) {
  Situation situation = at_stage(Stage::tubes_out);
  situation.mains_on = false;
  const BuiltDeck built = build_deck(demo(), situation);
  EXPECT_EQ(built.ties.size(), 1U);  // the primary
  const Bench bench(demo(), situation, 0.1);
  EXPECT_NEAR(highest(bench.volts("B+")), 0.0, 1e-9);
}

}  // namespace
}  // namespace firstglow::netlists
