// How long a resistor takes to empty a capacitor: closed form t = R C ln(V0 / V), and the engine.
#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "core/limits.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

constexpr const char* kSource = "by hand: t = R C ln(V0 / V), E = C V0^2 / 2";

struct Bank {
  double volts, farad, ohm;
};

double closed_form_s(const Bank& bank, double to_v) {
  return bank.ohm * bank.farad * std::log(bank.volts / to_v);
}

/// Time at which the engine's waveform passes `to_v`.
double engine_s(const Bank& bank, double to_v) {
  netlists::Deck deck;
  const int top = deck.add_node();
  deck.add(-1, netlists::CapacitorElement{top, 0, bank.farad, bank.volts});
  deck.add(-1, netlists::ResistorElement{top, 0, bank.ohm});
  const double tau_s = bank.ohm * bank.farad;
  sim::RunSpec spec;
  spec.stop_s = 1.2 * closed_form_s(bank, to_v);
  spec.max_step_s = tau_s / 200.0;
  spec.nodes = {top};
  const auto waves = run(deck, spec);
  for (std::size_t i = 1; i < waves.time_s.size(); ++i) {
    const double before = waves.node_v[0][i - 1];
    const double after = waves.node_v[0][i];
    if (after <= to_v) {
      // log interpolation: the curve is an exponential
      const double share = std::log(before / to_v) / std::log(before / after);
      return waves.time_s[i - 1] + share * (waves.time_s[i] - waves.time_s[i - 1]);
    }
  }
  throw std::runtime_error("never fell that far");
}

struct Row {
  Bank bank;
  double to_50_v_s, to_30_v_s, joules, half_digit_j;
};

constexpr Row kRows[] = {{{500, 40e-6, 25e3}, 2.30, 2.81, 5.0, 0.05},
                         {{700, 100e-6, 100e3}, 26.39, 31.50, 24.5, 0.05},
                         {{350, 100e-6, 220e3}, 42.81, 54.05, 6.125, 0.0005},
                         {{1000, 20e-6, 100e3}, 5.99, 7.01, 10.0, 0.5},
                         {{2500, 8e-6, 50e3}, 1.56, 1.77, 25.0, 0.5}};

TEST(DischargeTime, ClosedFormGivesTheTable) {
  for (const Row& row : kRows) {
    SCOPED_TRACE(row.bank.volts);
    EXPECT_TRUE(agrees(closed_form_s(row.bank, 50.0), {row.to_50_v_s, 0.0, 5.1e-3, kSource}));
    EXPECT_TRUE(agrees(closed_form_s(row.bank, 30.0), {row.to_30_v_s, 0.0, 5.1e-3, kSource}));
    const auto stored =
        core::stored_energy(core::Farads(row.bank.farad), core::Volts(row.bank.volts));
    EXPECT_TRUE(agrees(stored.si(), {row.joules, 0.0, row.half_digit_j, kSource}));
  }
  EXPECT_TRUE(agrees(closed_form_s(kRows[0].bank, 60.0), {2.12, 0.0, 5.1e-3, kSource}));
}

TEST(DischargeTime, EngineGivesTheClosedForm) {
  for (const Row& row : kRows) {
    SCOPED_TRACE(row.bank.volts);
    for (const double limit_v : {60.0, 50.0, 42.4, 30.0}) {
      EXPECT_TRUE(agrees(engine_s(row.bank, limit_v),
                         {closed_form_s(row.bank, limit_v), 1e-3, 0.0, kSource}));
    }
  }
}

/// Does a bank of 100 uF that falls from `volts` through `ohm` keep the rule of the code?
bool keeps_code(double volts, double ohm) {
  const core::DischargeLimit& limit = core::discharge_limit_for(core::Volts(volts));
  const Bank bank{volts, 100e-6, ohm};
  return engine_s(bank, limit.volts.si()) <= limit.within.si();
}

// [NEC-460-6] (A): 450 V, 100 uF: R = 60 s / (C ln 9) = 273.1 kohm is the largest bleeder.
TEST(DischargeTime, CodeTurnsAtTheLargestBleeder) {
  const double largest_ohm = 60.0 / (100e-6 * std::log(450.0 / 50.0));
  EXPECT_TRUE(agrees(largest_ohm, {273.1e3, 0.0, 50.0, "by hand: [NEC-460-6] 60 s"}));
  EXPECT_TRUE(keeps_code(450.0, 0.99 * largest_ohm));
  EXPECT_FALSE(keeps_code(450.0, 1.01 * largest_ohm));
}

// [NEC-460-28]: above 600 V five minutes: 700 V, 100 uF: R = 300 s / (C ln 14) = 1.137 Mohm.
TEST(DischargeTime, CodeTurnsAtTheLargestBleederAboveSixHundredVolts) {
  const double largest_ohm = 300.0 / (100e-6 * std::log(700.0 / 50.0));
  EXPECT_TRUE(agrees(largest_ohm, {1.137e6, 0.0, 500.0, "by hand: [NEC-460-28] 300 s"}));
  EXPECT_TRUE(keeps_code(700.0, 0.99 * largest_ohm));
  EXPECT_FALSE(keeps_code(700.0, 1.01 * largest_ohm));
}

// [MIL-HDBK-454]: 30 V in 2 s; 500 V, 40 uF need R <= 2 s / (C ln(500/30)) = 17.8 kohm.
TEST(DischargeTime, MilitaryRuleNeedsAStiffBleeder) {
  const double largest_ohm = 2.0 / (40e-6 * std::log(500.0 / 30.0));
  EXPECT_TRUE(agrees(largest_ohm, {17.8e3, 0.0, 50.0, "by hand: [MIL-HDBK-454] 30 V in 2 s"}));
  EXPECT_LT(engine_s({500.0, 40e-6, 0.99 * largest_ohm}, 30.0), 2.0);
  EXPECT_GT(engine_s({500.0, 40e-6, 1.01 * largest_ohm}, 30.0), 2.0);
}

// [EIA-815]: about 1 ohm per volt, so the first current is 1 A at any voltage.
TEST(DischargeTime, ShortingResistorDrawsOneAmpereAtAnyVoltage) {
  for (const double volts : {150.0, 450.0, 2000.0}) {
    netlists::Deck deck;
    const int top = deck.add_node();
    deck.add(-1, netlists::CapacitorElement{top, 0, 100e-6, volts});
    const int stick = deck.add(-1, netlists::ResistorElement{top, 0, volts * 1.0});
    sim::RunSpec spec;
    spec.stop_s = 0.01;
    spec.max_step_s = 1e-5;
    spec.currents = {stick};
    EXPECT_TRUE(agrees(run(deck, spec).current_a[0].front(),
                       {1.0, 1e-3, 0.0, "[EIA-815] about 1 ohm per applied volt"}));
  }
}

}  // namespace
}  // namespace firstglow::published
