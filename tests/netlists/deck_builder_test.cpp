#include "netlists/deck_builder.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <numbers>

#include "core/error.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::netlists {
namespace {

using test::all_of_kind;
using test::current_element;
using test::node_index;
using test::part_index;
using test::RigMaker;
using test::small_supply;

TEST(DeckBuilder, RefusesASituationThatNamesAnUnknownPart) {
  const RigMaker maker = small_supply();
  Situation corner;
  corner.corner["R99"] = 1.0;
  EXPECT_THROW((void)build_deck(maker.rig(), corner), core::ContractError);
  Situation lifted;
  lifted.lifted.insert("R99");
  EXPECT_THROW((void)build_deck(maker.rig(), lifted), core::ContractError);
  Situation held;
  held.held_ohm["R99"] = 1.0;
  EXPECT_THROW((void)build_deck(maker.rig(), held), core::ContractError);
  Situation lamp;  // negative control: the lamp is no part of the record
  lamp.held_ohm["lamp"] = 10.0;
  EXPECT_NO_THROW((void)build_deck(maker.rig(), lamp));
}

TEST(DeckBuilder, RefusesValuesOutOfRange) {
  const RigMaker maker = small_supply();
  for (const double setting : {0.0, -0.1, 1.21}) {
    Situation situation;
    situation.variac_setting = setting;
    EXPECT_THROW((void)build_deck(maker.rig(), situation), core::ContractError) << setting;
  }
  Situation corner;
  corner.corner["R1"] = 1.01;
  EXPECT_THROW((void)build_deck(maker.rig(), corner), core::ContractError);
  Situation held;
  held.held_ohm["lamp"] = 0.0;
  EXPECT_THROW((void)build_deck(maker.rig(), held), core::ContractError);
}

TEST(DeckBuilder, ScalesTheMainsSineByTheVirtualVariac) {
  const RigMaker maker = small_supply();
  Situation situation;
  situation.line = core::RmsVolts(110.0);
  situation.variac_setting = 0.5;
  situation.closing_angle_deg = 30.0;
  const BuiltDeck built = build_deck(maker.rig(), situation);
  const auto sines = all_of_kind<SineSourceElement>(built.deck);
  ASSERT_EQ(sines.size(), 1U);
  EXPECT_DOUBLE_EQ(sines[0].peak_v, 110.0 * 0.5 * std::numbers::sqrt2);
  EXPECT_DOUBLE_EQ(sines[0].hz, 60.0);
  EXPECT_DOUBLE_EQ(sines[0].phase_deg, 30.0);
  EXPECT_TRUE(std::holds_alternative<SineSourceElement>(
      built.deck.elements.at(static_cast<std::size_t>(built.mains_source)).data));
  EXPECT_EQ(built.variac_out_a, built.mains_a);
}

TEST(DeckBuilder, LeavesTheSourceOutWhenUnpluggedAndTiesThePrimary) {
  const RigMaker maker = small_supply();
  Situation situation;
  situation.mains_on = false;
  const BuiltDeck built = build_deck(maker.rig(), situation);
  EXPECT_TRUE(all_of_kind<SineSourceElement>(built.deck).empty());
  EXPECT_EQ(built.mains_source, -1);
  ASSERT_EQ(built.ties.size(), 1U);
  const auto tie = std::get<ResistorElement>(
      built.deck.elements.at(static_cast<std::size_t>(built.ties[0])).data);
  EXPECT_EQ(tie.b, 0);
  EXPECT_DOUBLE_EQ(tie.ohm, kTieOhm);
  Situation on;
  EXPECT_TRUE(build_deck(maker.rig(), on).ties.empty());
}

TEST(DeckBuilder, PutsATestLampBetweenSocketAndLine) {
  const RigMaker maker = small_supply();
  Situation situation;
  situation.lamp = LampInSeries{core::Watts(100.0), core::RmsVolts(120.0)};
  const BuiltDeck built = build_deck(maker.rig(), situation);
  ASSERT_TRUE(built.lamp.has_value());
  const Element& element = built.deck.elements.at(static_cast<std::size_t>(*built.lamp));
  EXPECT_EQ(element.part, -1);
  const auto lamp = std::get<ResistorElement>(element.data);
  EXPECT_EQ(lamp.a, built.mains_a);
  EXPECT_EQ(lamp.b, *built.node_of[static_cast<std::size_t>(node_index(maker.rig(), "LINE"))]);
  // 144 ohm hot over (2800/300)^1.218 = 15.188 (by hand).
  EXPECT_NEAR(lamp.ohm, 144.0 / 15.188, 0.01);
  situation.held_ohm["lamp"] = 77.0;
  const BuiltDeck held = build_deck(maker.rig(), situation);
  EXPECT_DOUBLE_EQ(
      std::get<ResistorElement>(held.deck.elements.at(static_cast<std::size_t>(*held.lamp)).data)
          .ohm,
      77.0);
}

TEST(DeckBuilder, BypassesALampOfTheRecordUntilTheSituationFitsOne) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3);
  core::SeriesLamp lamp;
  lamp.a = maker.node("LINE");
  lamp.b = maker.node("PRI");
  lamp.rated_volts = core::RmsVolts(120.0);
  lamp.rated_watts = core::Watts(60.0);
  maker.part("LA1", lamp).resistor("R1", "PRI", "NEUTRAL", 100.0);
  Situation situation;
  const BuiltDeck bypassed = build_deck(maker.rig(), situation);
  EXPECT_FALSE(bypassed.lamp.has_value());
  EXPECT_DOUBLE_EQ(current_element<ResistorElement>(maker.rig(), bypassed, "LA1").ohm, 1e-3);
  situation.lamp = LampInSeries{core::Watts(100.0), core::RmsVolts(120.0)};
  situation.held_ohm["lamp"] = 50.0;
  const BuiltDeck lit = build_deck(maker.rig(), situation);
  EXPECT_EQ(lit.lamp, lit.current_of(part_index(maker.rig(), "LA1")));
  EXPECT_DOUBLE_EQ(current_element<ResistorElement>(maker.rig(), lit, "LA1").ohm, 50.0);
}

TEST(DeckBuilder, TakesLiftedPartsOutAndForgetsNodesNobodyTouches) {
  RigMaker maker = small_supply();
  maker.resistor("R7", "B+", "SCREEN", 47e3);
  Situation situation;
  const BuiltDeck whole = build_deck(maker.rig(), situation);
  const auto screen = static_cast<std::size_t>(node_index(maker.rig(), "SCREEN"));
  EXPECT_TRUE(whole.node_of[screen].has_value());
  situation.lifted.insert("R7");
  const BuiltDeck built = build_deck(maker.rig(), situation);
  const int lifted = part_index(maker.rig(), "R7");
  EXPECT_FALSE(built.part_in[static_cast<std::size_t>(lifted)]);
  EXPECT_FALSE(built.node_of[screen].has_value());
  EXPECT_FALSE(built.current_of(lifted).has_value());
  EXPECT_TRUE(std::none_of(built.deck.elements.begin(), built.deck.elements.end(),
                           [=](const Element& element) { return element.part == lifted; }));
}

TEST(DeckBuilder, LeavesOutPartsThatHangInTheAir) {
  RigMaker maker = small_supply();
  maker.resistor("R8", "X", "Y", 1e3).resistor("R9", "B+", "open", 1e3);
  maker.resistor("R10", "B+", "PROBE", 1e3);  // one end in circuit: its far end can be measured
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto in = [&](const char* name) {
    return built.part_in[static_cast<std::size_t>(part_index(maker.rig(), name))];
  };
  EXPECT_FALSE(in("R8"));
  EXPECT_FALSE(in("R9"));
  EXPECT_TRUE(in("R10"));
}

TEST(DeckBuilder, TiesEachFloatingIslandOnce) {
  RigMaker maker = small_supply();
  EXPECT_TRUE(build_deck(maker.rig(), {}).ties.empty());
  // A joint of two capacitors with nothing else on it, and a winding to nowhere.
  maker.capacitor("C2", "B+", "MID", 10e-6).capacitor("C3", "MID", "0", 10e-6);
  maker.transformer("T2", maker.winding("primary", {"PRI", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("free", {"S1", "S2"}, {50.0}, {1.0})}, 0.1, 5.0);
  EXPECT_EQ(build_deck(maker.rig(), {}).ties.size(), 2U);
}

TEST(DeckBuilder, KeepsASectionWithAnInsulatedEndAndItsCurrent) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("tapped", {"A", "open", "0"}, {10.0, 20.0}, {1.0, 2.0})}, 0.1,
                    5.0);
  const BuiltDeck built = build_deck(maker.rig(), {});
  // The insulated tap is one node for both sections: no tie, and the far end keeps its chassis.
  EXPECT_TRUE(built.ties.empty());
  for (const int section : {0, 1, 2}) {
    EXPECT_TRUE(built.current_of(0 + 1, section).has_value()) << section;
  }
  EXPECT_FALSE(built.current_of(1, 3).has_value());
}

TEST(DeckBuilder, MetersEachOutputOfTheRectifierStageAndNoOtherStage) {
  const RigMaker maker = small_supply();
  Situation situation;
  situation.stage = Stage::rectifier;
  const BuiltDeck built = build_deck(maker.rig(), situation);
  ASSERT_EQ(built.meters.size(), 1U);
  const auto meter = std::get<ResistorElement>(
      built.deck.elements.at(static_cast<std::size_t>(built.meters[0])).data);
  EXPECT_EQ(meter.a, built.node_of[static_cast<std::size_t>(node_index(maker.rig(), "B+"))]);
  EXPECT_DOUBLE_EQ(meter.ohm, 10e6);
  situation.stage = Stage::filter;
  EXPECT_TRUE(build_deck(maker.rig(), situation).meters.empty());
}

}  // namespace
}  // namespace firstglow::netlists
