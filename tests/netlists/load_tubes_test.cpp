// Regulator and load tubes: which elements do they become at which stage, in which state?
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/load_tube_types.hpp"
#include "netlists/tube_current.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::netlists {
namespace {

using test::all_of_kind;
using test::part_index;
using test::RigMaker;
using test::small_supply;

core::PowerTube tube_of(RigMaker& maker, const char* type, const char* screen = "SCREEN") {
  const core::PowerTubeType& known = *core::find_power_tube_type(type);
  core::PowerTube tube;
  tube.plate = maker.node("B+");
  tube.screen = maker.node(screen);
  tube.grid = maker.node("GRID");
  tube.cathode = core::kChassis;
  tube.triode = known.triode;
  tube.law = core::law_through(known.point, known.tail_v);
  tube.driven = known.driven;
  return tube;
}

RigMaker supply_with_tube(const core::TubeKey key = core::TubeKey::none) {
  RigMaker maker = small_supply();
  maker.resistor("R2", "B+", "SCREEN", 47e3, core::ResistorRole::dropper);
  maker.resistor("R3", "GRID", "0", 22e3);
  core::PowerTube tube = tube_of(maker, "6146B");
  tube.key = key;
  tube.count = 2;
  maker.part("V1", tube);
  return maker;
}

BuiltDeck at_stage(const RigMaker& maker, Stage stage) {
  Situation situation;
  situation.stage = stage;
  return build_deck(maker.rig(), situation);
}

TEST(LoadTubes, DrawNothingBeforeTheirCathodesAreWarm) {
  const RigMaker maker = supply_with_tube();
  for (const Stage stage : {Stage::tubes_out, Stage::heaters}) {
    EXPECT_TRUE(all_of_kind<SpaceCurrentElement>(at_stage(maker, stage).deck).empty());
    EXPECT_TRUE(at_stage(maker, stage).tubes.empty());
  }
}

TEST(LoadTubes, FollowTheirVoltsWithTheKeyUp) {
  const RigMaker maker = supply_with_tube();
  const BuiltDeck built = at_stage(maker, Stage::key_up);
  const auto currents = all_of_kind<SpaceCurrentElement>(built.deck);
  ASSERT_EQ(currents.size(), 2U);
  EXPECT_EQ(currents[0].split, kSpacePlate);
  EXPECT_EQ(currents[1].split, kSpaceScreen);
  // two tubes in parallel draw twice the current of one
  const core::PowerTubeType& known = *core::find_power_tube_type("6146B");
  EXPECT_DOUBLE_EQ(currents[0].law.perveance,
                   2.0 * core::law_through(known.point, known.tail_v).perveance);
  EXPECT_EQ(built.tubes.at(part_index(maker.rig(), "V1")), TubeRole::by_volts);
}

TEST(LoadTubes, DrawTheirDrivenAveragesWithTheKeyDown) {
  const RigMaker maker = supply_with_tube();
  const BuiltDeck built = at_stage(maker, Stage::key_down);
  const int part = part_index(maker.rig(), "V1");
  EXPECT_EQ(built.tubes.at(part), TubeRole::driven);
  const auto plate = built.deck.elements.at(static_cast<std::size_t>(*built.current_of(part, 0)));
  EXPECT_NEAR(std::get<ResistorElement>(plate.data).ohm, 600.0 / (2.0 * 0.112), 1e-6);
  const auto drive = all_of_kind<GridDriveElement>(built.deck);
  ASSERT_EQ(drive.size(), 1U);
  EXPECT_DOUBLE_EQ(drive[0].amps, 2.0 * 0.0028);
}

// The driven screen at its published volts draws its published amps; without plate volts it takes
// the whole space current.
TEST(LoadTubes, ADrivenScreenTakesAllWhenThePlateIsDead) {
  const RigMaker maker = supply_with_tube();
  const auto screens = all_of_kind<SpaceCurrentElement>(at_stage(maker, Stage::key_down).deck);
  ASSERT_EQ(screens.size(), 1U);
  EXPECT_NEAR(current_a(screens[0], {150.0, 0.0, 150.0, 600.0}), 2.0 * 0.009, 1e-4);
  EXPECT_NEAR(current_a(screens[0], {150.0, 0.0, 150.0, 0.0}), 2.0 * (0.009 + 0.112), 1e-3);
}

TEST(LoadTubes, OpenTheirCathodeWithTheKeyUp) {
  const RigMaker maker = supply_with_tube(core::TubeKey::cathode);
  const int part = part_index(maker.rig(), "V1");
  for (const auto& [stage, ohm] :
       {std::pair(Stage::key_up, kOpenKeyOhm), std::pair(Stage::key_down, 1e-3)}) {
    const BuiltDeck built = at_stage(maker, stage);
    const auto key = built.deck.elements.at(static_cast<std::size_t>(*built.current_of(part, 3)));
    EXPECT_DOUBLE_EQ(std::get<ResistorElement>(key.data).ohm, ohm);
  }
  EXPECT_EQ(at_stage(maker, Stage::key_up).tubes.at(part), TubeRole::keyed_off);
}

TEST(LoadTubes, PutAKeyedScreenToTheCathode) {
  const RigMaker maker = supply_with_tube(core::TubeKey::screen);
  const auto currents = all_of_kind<SpaceCurrentElement>(at_stage(maker, Stage::key_up).deck);
  ASSERT_EQ(currents.size(), 1U);
  EXPECT_EQ(currents[0].control, currents[0].b);
}

TEST(LoadTubes, ShowTheirFaults) {
  const RigMaker maker = supply_with_tube();
  Situation situation;
  situation.stage = Stage::key_up;
  situation.unbiased = {"V1"};
  for (const auto& current :
       all_of_kind<SpaceCurrentElement>(build_deck(maker.rig(), situation).deck)) {
    EXPECT_EQ(current.grid, 0);
  }
  situation.unbiased.clear();
  situation.plate_open = {"V1"};
  const BuiltDeck built = build_deck(maker.rig(), situation);
  const auto b_plus =
      built.node_of.at(static_cast<std::size_t>(test::node_index(maker.rig(), "B+")));
  for (const auto& current : all_of_kind<SpaceCurrentElement>(built.deck)) {
    EXPECT_NE(current.plate, *b_plus);
  }
  EXPECT_EQ(built.ties.size(), 1U) << "the open plate lead needs a reference";
}

// Key up and key down have the same parts, and are two circuits all the same.
TEST(LoadTubes, MakeKeyDownAStageOfItsOwn) {
  EXPECT_THAT(stages_of(supply_with_tube().rig()),
              testing::IsSupersetOf({Stage::key_up, Stage::key_down}));
}

RigMaker supply_with_regulator() {
  RigMaker maker = small_supply();
  maker.resistor("R2", "B+", "REG", 10e3, core::ResistorRole::dropper);
  core::VrTube tube;
  tube.plus = maker.node("REG");
  tube.minus = core::kChassis;
  tube.run = core::Volts(150.0);
  tube.strike = core::Volts(185.0);
  tube.regulation = core::Volts(2.0);
  tube.least = core::Amps(0.005);
  tube.most = core::Amps(0.030);
  maker.part("VR1", tube);
  return maker;
}

TEST(VrTubes, AreDarkUnlessTheSituationSaysOtherwise) {
  const RigMaker maker = supply_with_regulator();
  Situation situation;
  situation.stage = Stage::tubes_out;
  const BuiltDeck dark = build_deck(maker.rig(), situation);
  EXPECT_TRUE(dark.lit.empty());
  // a dark tube empties no capacitor: bleed must not count on its ohms
  EXPECT_EQ(dark.leakages.size(), 1U);
  situation.lit = {"VR1"};
  const BuiltDeck lit = build_deck(maker.rig(), situation);
  EXPECT_THAT(lit.lit, testing::ElementsAre(part_index(maker.rig(), "VR1")));
  EXPECT_TRUE(lit.leakages.empty());
}

TEST(VrTubes, StandInTheirSocketsWithTheOtherTubesOut) {
  const RigMaker maker = supply_with_regulator();
  const auto part = static_cast<std::size_t>(part_index(maker.rig(), "VR1"));
  EXPECT_FALSE(at_stage(maker, Stage::filter).part_in.at(part));
  EXPECT_TRUE(at_stage(maker, Stage::tubes_out).part_in.at(part));
}

}  // namespace
}  // namespace firstglow::netlists
