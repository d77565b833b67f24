#include "netlists/stage_parts.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "netlists/deck_builder.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::netlists {
namespace {

using core::DrawnWhen;
using core::ResistorRole;
using test::RigMaker;
using ::testing::ElementsAre;

constexpr Stage kStages[] = {Stage::transformer, Stage::rectifier, Stage::filter,  Stage::tubes_out,
                             Stage::heaters,     Stage::key_up,    Stage::key_down};

/// Stages at which the part is connected, as their keys.
std::vector<std::string> stages_with(const RigMaker& maker, const std::string& designator) {
  std::vector<std::string> stages;
  for (const Stage stage : kStages) {
    const std::vector<bool> in = stage_parts(maker.rig(), stage);
    for (std::size_t i = 0; i < in.size(); ++i) {
      if (in[i] && maker.rig().parts[i].designator == designator) {
        stages.emplace_back(stage_key(stage));
      }
    }
  }
  return stages;
}

std::string first_stage(const RigMaker& maker, const std::string& designator) {
  const std::vector<std::string> stages = stages_with(maker, designator);
  return stages.empty() ? "never" : stages.front();
}

/// Mains and a transformer whose plate winding has its centre tap on node `centre`.
RigMaker iron(const std::string& centre) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).fuse("F1", "LINE", "PRI");
  maker.transformer("T1", maker.winding("primary", {"PRI", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("plate", {"HV1", centre, "HV2"}, {300.0, 300.0}, {60.0, 62.0}),
                     maker.winding("bias", {"AC", "0"}, {60.0}, {40.0})},
                    0.1, 5.0);
  return maker;
}

TEST(StageParts, TakeAMainsFuseWithTheTransformer) {
  EXPECT_EQ(first_stage(iron("0"), "F1"), "transformer");
}

TEST(StageParts, TakeASurgeResistorBetweenWindingAndDiodeWithTheRectifier) {
  RigMaker maker = iron("0");
  maker.resistor("R4", "AC", "S", 100.0, ResistorRole::dropper).diode("D3", "RAW", "S");
  maker.capacitor("C3", "0", "RAW", 22e-6);
  EXPECT_EQ(first_stage(maker, "R4"), "rectifier");
  EXPECT_EQ(first_stage(maker, "D3"), "rectifier");
  EXPECT_EQ(first_stage(maker, "C3"), "filter");
}

TEST(StageParts, TakeASurgeResistorBehindTheDiodeWithTheFilter) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "K").resistor("R1", "K", "B+", 47.0);
  maker.capacitor("C1", "B+", "0", 22e-6);
  EXPECT_EQ(first_stage(maker, "R1"), "filter");
}

// Two resistors in a row with nothing at their joint are one path.
TEST(StageParts, TakeAChainOfDroppersAsOnePath) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "B+").capacitor("C1", "B+", "0", 22e-6);
  maker.resistor("R1", "B+", "X", 1e3, ResistorRole::dropper).resistor("R2", "X", "B2", 1e3);
  maker.capacitor("C2", "B2", "0", 22e-6);
  EXPECT_EQ(first_stage(maker, "R1"), "filter");
  EXPECT_EQ(first_stage(maker, "R2"), "filter");
}

TEST(StageParts, TakeAScreenDropperWithItsBypassOnlyWithTubesOut) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "B+").capacitor("C1", "B+", "0", 22e-6);
  maker.resistor("R7", "B+", "SCREEN", 47e3, ResistorRole::dropper);
  maker.capacitor("C5", "SCREEN", "0", 10e-9, core::Dielectric::film);
  EXPECT_EQ(first_stage(maker, "R7"), "tubes_out");
  EXPECT_EQ(first_stage(maker, "C5"), "tubes_out");
}

TEST(StageParts, TakeABleederWithTheFilterAndAPlainResistorToChassisWithTubesOut) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "B+").capacitor("C1", "B+", "0", 22e-6);
  maker.resistor("R1", "B+", "0", 25e3, ResistorRole::bleeder).resistor("R2", "B+", "0", 25e3);
  EXPECT_EQ(first_stage(maker, "R1"), "filter");
  EXPECT_EQ(first_stage(maker, "R2"), "tubes_out");
}

TEST(StageParts, CallALargeFilmCapacitorAFilterAndASmallOneABypass) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "B+");
  maker.capacitor("C1", "B+", "0", 0.25e-6, core::Dielectric::film);
  maker.capacitor("C2", "B+", "0", 0.24e-6, core::Dielectric::film);
  EXPECT_EQ(first_stage(maker, "C1"), "filter");
  EXPECT_EQ(first_stage(maker, "C2"), "tubes_out");
}

TEST(StageParts, GiveAFloatingWindingItsReturnThroughAFuse) {
  RigMaker maker = iron("CT");
  maker.fuse("F2", "CT", "0");
  EXPECT_EQ(first_stage(maker, "F2"), "transformer");
}

// Choke and back-bias resistor in the negative lead: the lower ohms carry the meter current.
TEST(StageParts, GiveAFloatingWindingTheReturnOfLowestOhms) {
  RigMaker maker = iron("CT");
  maker.choke("L1", "CT", "0", 5.0, 100.0).resistor("R1", "CT", "0", 50.0);
  maker.resistor("R2", "HV1", "0", 1e6);
  EXPECT_EQ(first_stage(maker, "R1"), "transformer");
  EXPECT_EQ(first_stage(maker, "L1"), "filter");
  EXPECT_EQ(first_stage(maker, "R2"), "tubes_out");
}

TEST(StageParts, NeedNoReturnWhenTheWindingHasOne) {
  RigMaker maker = iron("0");
  maker.resistor("R2", "HV1", "0", 1e6);
  EXPECT_EQ(first_stage(maker, "R2"), "tubes_out");
}

TEST(StageParts, TakeALineFilterAndItsDischargeResistorWithTheTransformer) {
  RigMaker maker = iron("0");
  maker.capacitor("CX", "PRI", "NEUTRAL", 0.1e-6, core::Dielectric::film);
  maker.capacitor("CY", "PRI", "0", 2.2e-9, core::Dielectric::film);
  maker.resistor("RX", "PRI", "NEUTRAL", 470e3, ResistorRole::bleeder);
  EXPECT_EQ(first_stage(maker, "CX"), "transformer");
  EXPECT_EQ(first_stage(maker, "CY"), "transformer");
  EXPECT_EQ(first_stage(maker, "RX"), "transformer");
}

TEST(StageParts, TakeEqualisersAcrossDiodesWithTheRectifier) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "J").diode("D2", "J", "B+").capacitor("C1", "B+", "0", 22e-6);
  maker.resistor("RD", "J", "HV1", 470e3, ResistorRole::equaliser);
  maker.resistor("RC", "B+", "0", 470e3, ResistorRole::equaliser);
  EXPECT_EQ(first_stage(maker, "RD"), "rectifier");
  EXPECT_EQ(first_stage(maker, "RC"), "filter");
}

TEST(StageParts, DrawLoadsWhenTheRecordSaysSo) {
  RigMaker maker = iron("0");
  maker.diode("D1", "HV1", "B+").capacitor("C1", "B+", "0", 22e-6);
  maker.load_ohms("ALW", "B+", "0", 1e5, DrawnWhen::always);
  maker.load_amps("TIN", "B+", "0", 0.1, DrawnWhen::tubes_in);
  maker.load_amps("KUP", "B+", "0", 0.1, DrawnWhen::key_up);
  maker.load_amps("KDN", "B+", "0", 0.1, DrawnWhen::key_down);
  maker.heater("HTR", "AC", "0", 6.3, 0.8, 0.13);
  EXPECT_THAT(stages_with(maker, "ALW"), ElementsAre("tubes_out", "heaters", "key_up", "key_down"));
  EXPECT_THAT(stages_with(maker, "HTR"), ElementsAre("heaters", "key_up", "key_down"));
  EXPECT_THAT(stages_with(maker, "TIN"), ElementsAre("key_up", "key_down"));
  EXPECT_THAT(stages_with(maker, "KUP"), ElementsAre("key_up"));
  EXPECT_THAT(stages_with(maker, "KDN"), ElementsAre("key_down"));
}

TEST(StageParts, OfferOnlyStagesThatChangeTheCircuit) {
  RigMaker maker = iron("0");
  EXPECT_THAT(stages_of(maker.rig()), ElementsAre(Stage::transformer));
  maker.diode("D1", "HV1", "B+").capacitor("C1", "B+", "0", 22e-6);
  EXPECT_THAT(stages_of(maker.rig()),
              ElementsAre(Stage::transformer, Stage::rectifier, Stage::filter));
  maker.load_amps("KUP", "B+", "0", 0.1, DrawnWhen::key_up);
  EXPECT_THAT(stages_of(maker.rig()), ElementsAre(Stage::transformer, Stage::rectifier,
                                                  Stage::filter, Stage::key_up, Stage::key_down));
}

}  // namespace
}  // namespace firstglow::netlists
