// One kind of part at a time: which elements and values does it become?
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "netlists/deck_builder.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::netlists {
namespace {

using test::all_of_kind;
using test::current_element;
using test::part_index;
using test::RigMaker;
using test::small_supply;

TEST(PartModels, MakesOneDiodeOfAString) {
  const RigMaker maker = small_supply();
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto diode = current_element<DiodeElement>(maker.rig(), built, "D1");
  EXPECT_DOUBLE_EQ(diode.saturation_a, 1e-9);
  EXPECT_DOUBLE_EQ(diode.emission, 2 * 1.8);
  EXPECT_DOUBLE_EQ(diode.series_ohm, 2 * 0.04);
  EXPECT_DOUBLE_EQ(diode.junction_f, 15e-12 / 2);
}

TEST(PartModels, MovesValuesToTheirCorner) {
  const RigMaker maker = small_supply();
  Situation situation;
  situation.corner["R1"] = -1.0;
  EXPECT_NEAR(
      current_element<ResistorElement>(maker.rig(), build_deck(maker.rig(), situation), "R1").ohm,
      45e3, 1e-6);
  situation.corner["R1"] = 0.5;
  EXPECT_NEAR(
      current_element<ResistorElement>(maker.rig(), build_deck(maker.rig(), situation), "R1").ohm,
      52.5e3, 1e-6);
}

TEST(PartModels, ListsKnownLeakageAsAResistorOfWorkingVoltsOverAmps) {
  RigMaker maker = small_supply();
  EXPECT_TRUE(build_deck(maker.rig(), {}).leakages.empty());
  auto& capacitor = std::get<core::Capacitor>(
      maker.rig().parts[static_cast<std::size_t>(part_index(maker.rig(), "C1"))].data);
  capacitor.leakage = core::Amps(0.5e-3);
  EXPECT_TRUE(build_deck(maker.rig(), {}).leakages.empty());  // at unknown volts: unknown ohms
  capacitor.working_volts = core::Volts(450.0);
  const BuiltDeck built = build_deck(maker.rig(), {});
  ASSERT_EQ(built.leakages.size(), 1U);
  EXPECT_DOUBLE_EQ(std::get<ResistorElement>(
                       built.deck.elements.at(static_cast<std::size_t>(built.leakages[0])).data)
                       .ohm,
                   450.0 / 0.5e-3);
}

TEST(PartModels, HoldsOrMovesHeaters) {
  RigMaker maker = small_supply();
  maker.heater("HTR", "H1", "0", 6.3, 0.82, 0.13);
  Situation situation;
  const auto held_ohm = [&] {
    return current_element<ResistorElement>(maker.rig(), build_deck(maker.rig(), situation), "HTR")
        .ohm;
  };
  EXPECT_DOUBLE_EQ(held_ohm(), 0.82);
  situation.held_ohm["HTR"] = 0.4;
  EXPECT_DOUBLE_EQ(held_ohm(), 0.4);
  situation.thermal = ThermalMode::moving;
  const auto moving = [&] {
    return current_element<ThermalResistorElement>(maker.rig(), build_deck(maker.rig(), situation),
                                                   "HTR");
  };
  EXPECT_DOUBLE_EQ(moving().start_k, 300.0);
  situation.heaters_hot = true;
  EXPECT_DOUBLE_EQ(moving().start_k, moving().hot_k);
  EXPECT_NEAR(moving().hot_w, 6.3 * 6.3 / 0.82, 1e-9);
  situation.stage = Stage::tubes_out;
  EXPECT_FALSE(build_deck(maker.rig(), situation)
                   .part_in[static_cast<std::size_t>(part_index(maker.rig(), "HTR"))]);
}

TEST(PartModels, GivesCurrentLoadsAKneeOfTwentyVolts) {
  RigMaker maker = small_supply();
  maker.load_amps("EXC", "B+", "0", 0.03, core::DrawnWhen::always);
  const auto load =
      current_element<CurrentSinkElement>(maker.rig(), build_deck(maker.rig(), {}), "EXC");
  EXPECT_DOUBLE_EQ(load.amps, 0.03);
  EXPECT_DOUBLE_EQ(load.knee_v, 20.0);
}

TEST(PartModels, DampsEveryChokeByItsCoreLoss) {
  RigMaker maker = small_supply();
  maker.choke("L1", "B+", "B2", 10.0, 90.0).capacitor("C9", "B2", "0", 10e-6);
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto copper = current_element<ResistorElement>(maker.rig(), built, "L1");
  EXPECT_DOUBLE_EQ(copper.ohm, 90.0);
  // 30 * 2 pi * 120 Hz * 10 H = 226.2 kohm (by hand), across the inductance.
  const auto damped = [&](const ResistorElement& r) {
    return r.a == copper.b && std::abs(r.ohm - 226194.7) < 1.0;
  };
  const auto resistors = all_of_kind<ResistorElement>(built.deck);
  EXPECT_EQ(std::count_if(resistors.begin(), resistors.end(), damped), 1);
}

}  // namespace
}  // namespace firstglow::netlists
