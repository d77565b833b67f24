// How two capacitors in series share the volts: by capacitance at once, by leakage and equalisers
// later.
#include <gtest/gtest.h>

#include <cmath>
#include <optional>

#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

struct Can {
  double farad = 100e-6;
  double leakage_a = 0.0;  ///< constant above a few volts
  double equaliser_ohm = 0.0;
  double start_v = 0.0;
};

struct Split {
  double upper_v, lower_v;
};

/// Two cans on a stiff supply: where the joint stands after `seconds`.
Split split_after(double supply_v, const Can& upper, const Can& lower, double seconds) {
  netlists::Deck deck;
  const int supply = deck.add_node();
  const int top = deck.add_node();
  const int joint = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{supply, 0, supply_v});
  deck.add(-1, netlists::ResistorElement{supply, top, 1.0});
  const auto add_can = [&](const Can& can, int plus, int minus) {
    deck.add(-1, netlists::CapacitorElement{plus, minus, can.farad, can.start_v});
    if (can.leakage_a > 0.0) {
      deck.add(-1, netlists::CurrentSinkElement{plus, minus, can.leakage_a, 0.1});
    }
    if (can.equaliser_ohm > 0.0) {
      deck.add(-1, netlists::ResistorElement{plus, minus, can.equaliser_ohm});
    }
  };
  add_can(upper, top, joint);
  add_can(lower, joint, 0);
  sim::RunSpec spec;
  spec.stop_s = seconds;
  spec.max_step_s = seconds / 500.0;
  spec.nodes = {top, joint};
  const auto waves = run(deck, spec);
  return {waves.node_v[0].back() - waves.node_v[1].back(), waves.node_v[1].back()};
}

// V (1/C) / sum(1/C): 700 V on 120 uF and 80 uF (100 uF at +20 % and -20 %) is 280 V and 420 V.
TEST(StackSplit, ChargingSplitsByCapacitance) {
  const Split found = split_after(700.0, Can{120e-6}, Can{80e-6}, 0.01);
  EXPECT_TRUE(agrees(found.upper_v, {280.0, 2e-4, 0.0, "by hand: V (1/C) / sum(1/C)"}));
  EXPECT_TRUE(agrees(found.lower_v, {420.0, 2e-4, 0.0, "by hand: V (1/C) / sum(1/C)"}));
}

// Leakage 1 mA against 0.1 mA, 220 kohm each: half of 220 kohm x 0.9 mA = 99 V off the middle.
TEST(StackSplit, LeakageMovesTheJointInTime) {
  const Split found =
      split_after(700.0, Can{100e-6, 1e-3, 220e3, 350.0}, Can{100e-6, 0.1e-3, 220e3, 350.0}, 400.0);
  EXPECT_TRUE(agrees(found.upper_v, {251.0, 2e-4, 0.0, "by hand: 350 V - R dI / 2"}));
  EXPECT_TRUE(agrees(found.lower_v, {449.0, 2e-4, 0.0, "by hand: 350 V + R dI / 2"}));
}

// The same cans without equalisers: the tight one takes all of it and is overrun.
TEST(StackSplit, WithoutEqualisersTheTightCanTakesTheVolts) {
  const Split found =
      split_after(700.0, Can{100e-6, 1e-3, 0.0, 350.0}, Can{100e-6, 0.1e-3, 0.0, 350.0}, 400.0);
  EXPECT_GT(found.lower_v, 695.0);
}

// Resistor current ten times the rated leakage (a rule read on a collectors' mailing list, 2003):
// 450 V, 100 uA give 450 kohm and 0.45 W; one can without leakage is then 450 kohm x 100 uA / 2 =
// 22.5 V = 5 % of its rating above the middle.
TEST(StackSplit, TenfoldLeakageRuleKeepsFivePercent) {
  const double ohm = 450.0 / (10.0 * 100e-6);
  EXPECT_TRUE(agrees(ohm, {450e3, 1e-12, 0.0, "by hand: 450 V / 1 mA"}));
  EXPECT_TRUE(agrees(450.0 * 450.0 / ohm, {0.45, 1e-12, 0.0, "by hand: V^2 / R"}));
  const Split found =
      split_after(900.0, Can{100e-6, 100e-6, ohm, 450.0}, Can{100e-6, 0.0, ohm, 450.0}, 600.0);
  EXPECT_TRUE(agrees(found.lower_v, {472.5, 2e-4, 0.0, "by hand: 450 V + R I / 2"}));
}

// [ARRL-HB] 100 ohm per volt, from memory: 45 kohm and 4.5 W for 450 V, ten times as stiff.
TEST(StackSplit, HundredOhmPerVoltIsTenTimesAsStiff) {
  const double ohm = 100.0 * 450.0;
  EXPECT_TRUE(agrees(450.0 * 450.0 / ohm, {4.5, 1e-12, 0.0, "by hand: V^2 / R"}));
  const Split found =
      split_after(900.0, Can{100e-6, 100e-6, ohm, 450.0}, Can{100e-6, 0.0, ohm, 450.0}, 60.0);
  EXPECT_TRUE(agrees(found.lower_v, {452.25, 1e-4, 0.0, "by hand: 450 V + R I / 2"}));
}

// Two resistors of 220 kohm in place of one: 225 V and 0.23 W each at 450 V.
TEST(StackSplit, SplitEqualiserHalvesTheVoltsPerResistor) {
  netlists::Deck deck;
  const int top = deck.add_node();
  const int middle = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{top, 0, 450.0});
  const int upper = deck.add(-1, netlists::ResistorElement{top, middle, 220e3});
  deck.add(-1, netlists::ResistorElement{middle, 0, 220e3});
  sim::RunSpec spec;
  spec.stop_s = 1e-3;
  spec.max_step_s = 1e-4;
  spec.nodes = {middle};
  spec.currents = {upper};
  const auto waves = run(deck, spec);
  const double volts = 450.0 - waves.node_v[0].back();
  EXPECT_TRUE(agrees(volts, {225.0, 1e-6, 0.0, "by hand"}));
  EXPECT_TRUE(agrees(volts * waves.current_a[0].back(), {0.23, 0.0, 5.1e-3, "by hand: V^2 / R"}));
}

}  // namespace
}  // namespace firstglow::published
