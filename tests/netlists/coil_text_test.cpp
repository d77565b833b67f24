// Coils with iron, thermistors and step starts: which elements, and which SPICE text?
#include "netlists/coil_text.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/error.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::netlists {
namespace {

using ::testing::ElementsAre;

// By hand: 1/0.01 - 1/2 = 99.5, times the width 0.02 is 1.99.
TEST(CoilText, WritesASaturatingCoil) {
  EXPECT_THAT(coil_lines(7, SaturatingCoilElement{3, 0, 2.0, 0.01, 0.5, 0.02, -0.1}),
              ElementsAre("b7 n3 0 i=v(x7)/2+1.99*(max(((v(x7)-0.5)/0.02),0)"
                          "+ln(1+exp(0-abs(((v(x7)-0.5)/0.02))))-(max(((0-v(x7)-0.5)/0.02),0)"
                          "+ln(1+exp(0-abs(((0-v(x7)-0.5)/0.02))))))",
                          "b7f 0 x7 i=v(n3)", "c7 x7 0 1 ic=-0.1"));
}

TEST(CoilText, WritesASwingingCoil) {
  EXPECT_THAT(coil_lines(4, SinhCoilElement{1, 2, 0.05, 1.5, 0.25}),
              ElementsAre("b4 n1 n2 i=0.05*sinh(min(max(v(x4)/1.5,-30),30))", "b4f 0 x4 i=v(n1,n2)",
                          "c4 x4 0 1 ic=0.25"));
}

TEST(CoilText, WritesAThermistor) {
  EXPECT_THAT(
      ntc_lines(2, {1, 0, 10.0, 3000.0, 0.05, 1.5, 300.0}),
      ElementsAre("b2 n1 0 i=v(n1)/(10*exp(3000*(1/min(max(v(x2),200),1500)-1/298.15)))",
                  "b2h 0 x2 i=v(n1)*v(n1)/(10*exp(3000*(1/min(max(v(x2),200),1500)-1/298.15)))"
                  "-0.05*(v(x2)-298.15)",
                  "c2 x2 0 1.5 ic=300"));
}

// The second lock before the solver must let these lines through.
TEST(CoilText, PassesTheLockBeforeTheSolver) {
  Deck deck;
  deck.node_count = 3;
  deck.add(-1, SaturatingCoilElement{1, 0, 2.0, 0.01, 0.5, 0.02, 0.0});
  deck.add(-1, SinhCoilElement{1, 2, 0.05, 1.5, 0.0});
  deck.add(-1, NtcElement{2, 0, 10.0, 3000.0, 0.05, 1.5, 298.15});
  EXPECT_NO_THROW(require_plain_spice(spice_deck("run", deck, {0.1, 1e-4, 0.0, false}, {"n1"})));
  EXPECT_EQ(spice_inner_node(deck, 1), "x1");
  EXPECT_EQ(state_elements(deck).size(), 3U);
  EXPECT_THAT(start_state(deck), ElementsAre(0.0, 0.0, 298.15));
}

TEST(CoilText, RefusesCoilsThatCannotBe) {
  const auto refused = [](const ElementData& data) {
    Deck deck;
    deck.node_count = 2;
    deck.add(-1, data);
    EXPECT_THROW(check_deck(deck), core::ContractError);
  };
  refused(SaturatingCoilElement{1, 0, 0.01, 0.01, 0.5, 0.02, 0.0});  // no knee
  refused(SaturatingCoilElement{1, 0, 2.0, 0.01, 0.5, 0.0, 0.0});
  refused(SinhCoilElement{1, 0, 0.0, 1.5, 0.0});
  refused(NtcElement{1, 0, 10.0, 3000.0, 0.0, 1.5, 298.15});
}

TEST(IronModels, TakeTheSituationsCore) {
  const test::RigMaker maker = test::small_supply();
  Situation situation;
  EXPECT_TRUE(
      test::all_of_kind<SaturatingCoilElement>(build_deck(maker.rig(), situation).deck).empty());
  situation.core_model = CoreModel::saturating;
  situation.remanence = 0.5;
  const auto coils =
      test::all_of_kind<SaturatingCoilElement>(build_deck(maker.rig(), situation).deck);
  ASSERT_EQ(coils.size(), 1U);
  // Knee at 1.2 times the rated flux; the start at half of 0.8 times it.
  EXPECT_NEAR(coils[0].start_vs / coils[0].knee_vs, 0.5 * 0.8 / 1.2, 1e-12);
}

// 20 ohm of copper at 20 C are 20 (254.5 + 60) / 254.5 = 24.715 ohm after 60 K (by hand).
TEST(IronModels, WarmTheCopper) {
  test::RigMaker maker = test::small_supply();
  maker.choke("L1", "B+", "X", 10.0, 20.0).resistor("R2", "X", "0", 1e3);
  Situation situation;
  situation.winding_rise_k = 60.0;
  EXPECT_NEAR(
      test::current_element<ResistorElement>(maker.rig(), build_deck(maker.rig(), situation), "L1")
          .ohm,
      24.715, 1e-3);
}

TEST(IronModels, SwingAChokeThatSwings) {
  test::RigMaker maker = test::small_supply();
  maker.choke("L1", "B+", "X", 10.0, 20.0).resistor("R2", "X", "0", 1e3);
  auto& choke = std::get<core::Choke>(
      maker.rig().parts[static_cast<std::size_t>(test::part_index(maker.rig(), "L1"))].data);
  choke.loaded_inductance = core::Henries(8.0);
  choke.loaded_current = core::Amps(0.2);
  const auto coils = test::all_of_kind<SinhCoilElement>(build_deck(maker.rig(), {}).deck);
  ASSERT_EQ(coils.size(), 1U);
  EXPECT_NEAR(coils[0].scale_vs / coils[0].scale_a, 10.0, 1e-9);
  Situation unplugged;
  unplugged.mains_on = false;
  EXPECT_TRUE(test::all_of_kind<SinhCoilElement>(build_deck(maker.rig(), unplugged).deck).empty());
}

TEST(IronModels, BridgeAStepStart) {
  test::RigMaker maker = test::small_supply();
  core::StepStart step;
  step.a = maker.node("B+");
  step.b = maker.node("X");
  step.resistance = core::Ohms(25.0);
  step.delay = core::Seconds(1.0);
  maker.part("SS1", step).resistor("R2", "X", "0", 1e3);
  const auto ohm = [&](StepRelay relay) {
    Situation situation;
    situation.step_relay = relay;
    return test::current_element<ResistorElement>(maker.rig(), build_deck(maker.rig(), situation),
                                                  "SS1")
        .ohm;
  };
  EXPECT_DOUBLE_EQ(ohm(StepRelay::closed), 1e-3);
  EXPECT_DOUBLE_EQ(ohm(StepRelay::open), 25.0);
}

}  // namespace
}  // namespace firstglow::netlists
