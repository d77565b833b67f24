// What the record says before anything is run.
#include "sim/studies/check.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>

#include "core/rig_reader.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

const CheckResult& demo_check() {
  static const CheckResult kResult = check_rig(demo());
  return kResult;
}

const OhmsReading& ohms_at(const CheckResult& result, const std::string& node) {
  return *std::find_if(result.ohms.begin(), result.ohms.end(),
                       [&](const OhmsReading& reading) { return reading.node == node; });
}

const DerivedFigure& figure(const CheckResult& result, const std::string& part,
                            const std::string& name) {
  const auto found =
      std::find_if(result.derived.begin(), result.derived.end(), [&](const DerivedFigure& derived) {
        return derived.part == part && derived.name.find(name) != std::string::npos;
      });
  EXPECT_NE(found, result.derived.end()) << part << " " << name;
  return *found;
}

// By hand: 25k to the chassis beside 51.2k + 49.6k; the screen dropper ends at a capacitor.
TEST(CheckOhms, ReadsBleederBesideEqualisersWithTheRedLeadOnThePlateSupply) {
  const OhmsReading& reading = ohms_at(demo_check(), "B+");
  EXPECT_NEAR(reading.red_ohm.value(), 1.0 / (1.0 / 25e3 + 1.0 / 100.8e3), 0.5);
  EXPECT_FALSE(reading.red_through_rectifier);
}

// By hand: black lead on B+ drives current up through both halves of the winding, the two diodes
// and the choke: 90 ohm + 44 beside 46, beside 20 k.
TEST(CheckOhms, ReadsThroughTheRectifiersWithTheLeadsTurned) {
  const OhmsReading& reading = ohms_at(demo_check(), "B+");
  EXPECT_NEAR(reading.black_ohm.value(), 111.9, 0.5);
  EXPECT_TRUE(reading.black_through_rectifier);
}

// By hand: BIAS sees 15k, and 2.2k + 100 + 38 through D3 when BIAS_RAW is made positive.
TEST(CheckOhms, BiasSupplyIsTheOtherWayRound) {
  const OhmsReading& reading = ohms_at(demo_check(), "BIAS");
  EXPECT_NEAR(reading.black_ohm.value(), 15e3, 1.0);
  EXPECT_FALSE(reading.black_through_rectifier);
  EXPECT_NEAR(reading.red_ohm.value(), 1.0 / (1.0 / 15e3 + 1.0 / 2338.0), 1.0);
  EXPECT_TRUE(reading.red_through_rectifier);
}

// By hand: mid node sees R2 beside R1 + R3, the screen its dropper in front of B+.
TEST(CheckOhms, SeesNodesBehindResistors) {
  EXPECT_NEAR(ohms_at(demo_check(), "MID").red_ohm.value(),
              1.0 / (1.0 / 49.6e3 + 1.0 / (51.2e3 + 25e3)), 1.0);
  EXPECT_NEAR(ohms_at(demo_check(), "SCREEN").red_ohm.value(), 47e3 + 20031.8, 2.0);
}

TEST(CheckOhms, MainsSideIsOpenToTheChassisWhenUnplugged) {
  for (const char* node : {"LINE", "NEUTRAL", "PRI1"}) {
    EXPECT_FALSE(ohms_at(demo_check(), node).red_ohm) << node;
    EXPECT_FALSE(ohms_at(demo_check(), node).black_ohm) << node;
  }
}

// By hand, R3 at 22.5k and 27.5k; the equalisers are measured and move with the meter only.
TEST(CheckOhms, BandHoldsBothEndsOfTheTolerance) {
  const OhmsReading& reading = ohms_at(demo_check(), "B+");
  EXPECT_LE(reading.red_low_ohm.value(), 1.0 / (1.0 / 22.5e3 + 1.0 / 100.8e3));
  EXPECT_GE(reading.red_high_ohm.value(), 1.0 / (1.0 / 27.5e3 + 1.0 / 100.8e3));
  EXPECT_GT(reading.red_low_ohm.value(), 0.97 / (1.0 / 22.5e3 + 1.0 / 100.8e3));
  EXPECT_LT(reading.red_high_ohm.value(), 1.03 / (1.0 / 27.5e3 + 1.0 / 100.8e3));
}

TEST(CheckOhms, BandEqualsTheReadingWithoutTolerance) {
  test::RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).capacitor("C1", "A", "0", 1e-6);
  maker.resistor("R1", "A", "0", 1000.0);
  const CheckResult result = check_rig(maker.rig());
  const OhmsReading& reading = ohms_at(result, "A");
  EXPECT_DOUBLE_EQ(reading.red_low_ohm.value(), reading.red_ohm.value());
  EXPECT_DOUBLE_EQ(reading.red_high_ohm.value(), reading.red_ohm.value());
  EXPECT_NEAR(reading.red_ohm.value(), 1000.0, 1e-6);
}

// A bridge on a floating winding: red lead on the plus side meets only blocked rectifiers, the
// bleeder alone is seen; black lead finds two diodes in series through the bridge.
TEST(CheckOhms, BridgeBlocksOneWayAndConductsTheOther) {
  test::RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).fuse("F1", "LINE", "PRI");
  maker.transformer("T1", maker.winding("primary", {"PRI", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("plate", {"X", "Y"}, {300.0}, {60.0})}, 0.1, 5.0);
  maker.diode("D1", "X", "B+").diode("D2", "Y", "B+").diode("D3", "0", "X").diode("D4", "0", "Y");
  maker.capacitor("C1", "B+", "0", 10e-6);
  maker.resistor("R1", "B+", "0", 50e3, core::ResistorRole::bleeder);
  const CheckResult result = check_rig(maker.rig());
  EXPECT_NEAR(ohms_at(result, "B+").red_ohm.value(), 50e3, 1.0);
  EXPECT_FALSE(ohms_at(result, "B+").red_through_rectifier);
  EXPECT_LT(ohms_at(result, "B+").black_ohm.value(), 1.0);
  EXPECT_TRUE(ohms_at(result, "B+").black_through_rectifier);
}

TEST(CheckOhms, NodeWithOnlyACapacitorReadsOpen) {
  test::RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).capacitor("C1", "A", "0", 1e-6);
  const CheckResult result = check_rig(maker.rig());
  EXPECT_FALSE(ohms_at(result, "A").red_ohm);
  EXPECT_FALSE(ohms_at(result, "A").red_low_ohm);
}

TEST(CheckNets, NamesTheEndsOnANode) {
  const auto& nets = demo_check().nets;
  const auto hv =
      std::find_if(nets.begin(), nets.end(), [](const NetLine& net) { return net.node == "HV1"; });
  ASSERT_NE(hv, nets.end());
  EXPECT_THAT(hv->ends, ElementsAre("T1 plate end 1", "D1 anode"));
  EXPECT_THAT(nets.front().ends, Contains("T1 plate tap 1"));
  EXPECT_THAT(nets.front().ends, Contains("C2 minus"));
}

// By hand: 20031.8 ohm / (6 pi 60 Hz) = 17.7 H.
TEST(CheckFigures, CriticalInductanceOfAChokeInput) {
  EXPECT_NEAR(figure(demo_check(), "L1", "critical inductance").value, 17.71, 0.01);
}

// By hand: (0.82 / 0.13)^(1/1.218) 300 K = 1361 K.
TEST(CheckFigures, HeaterTemperatureFollowsFromItsOhms) {
  EXPECT_NEAR(figure(demo_check(), "HTR", "temperature").value, 1361.0, 2.0);
}

TEST(CheckFigures, SaysWhatWasAssumed) {
  EXPECT_FALSE(figure(demo_check(), "T1", "core loss").assumed);
  core::Rig rig = demo();
  for (core::Part& part : rig.parts) {
    if (auto* iron = std::get_if<core::PowerTransformer>(&part.data)) {
      iron->no_load_assumed = true;
    }
  }
  const CheckResult result = check_rig(rig);
  EXPECT_TRUE(figure(result, "T1", "core loss").assumed);
  EXPECT_THAT(result.missing, Contains(::testing::Field(&MissingItem::part, "T1")));
}

TEST(CheckMissing, NamesTheRatingAndTheAnswerItBlocks) {
  core::Rig rig = demo();
  for (core::Part& part : rig.parts) {
    if (part.designator == "C1") {
      std::get<core::Capacitor>(part.data).working_volts.reset();
    }
  }
  const auto is_gap = [](const MissingItem& item) {
    return item.part == "C1" && item.what == "working_volts" &&
           item.answers.find("margins") != std::string::npos;
  };
  const auto now = check_rig(rig).missing;
  const auto before = demo_check().missing;
  EXPECT_EQ(std::count_if(now.begin(), now.end(), is_gap), 1);
  EXPECT_EQ(std::count_if(before.begin(), before.end(), is_gap), 0);
}

TEST(CheckRemarks, TellsOfTheStackAndTheVariac) {
  const auto& remarks = demo_check().remarks;
  EXPECT_THAT(remarks, Contains(HasSubstr("can of C1")));
  EXPECT_THAT(remarks, Contains(HasSubstr("does not isolate")));
  EXPECT_THAT(remarks, Contains(HasSubstr("climbs while the meter charges")));
  EXPECT_THAT(remarks, Not(Contains(HasSubstr("safe to touch"))));
}

TEST(Check, IsQuick) {
  const auto start = std::chrono::steady_clock::now();
  const CheckResult result = check_rig(demo());
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  EXPECT_FALSE(result.ohms.empty());
  EXPECT_LT(took.count(), 0.2);  // 20 ms is the aim; sanitizers and a busy machine are slower
}

}  // namespace
}  // namespace firstglow::sim
