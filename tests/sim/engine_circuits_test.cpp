#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>

#include "tests/sim/engine_fixture.hpp"

namespace firstglow::sim::testing {
namespace {

using netlists::CapacitorElement;
using netlists::CurrentSinkElement;
using netlists::DcSourceElement;
using netlists::Deck;
using netlists::DiodeElement;
using netlists::InductorElement;
using netlists::ResistorElement;
using netlists::SineSourceElement;
using netlists::ThermalResistorElement;
using netlists::WindingElement;
using netlists::with_ammeters;

constexpr double kTwoPi = 2.0 * std::numbers::pi;

RunSpec spec_of(double stop_s, double max_step_s) {
  RunSpec spec;
  spec.stop_s = stop_s;
  spec.max_step_s = max_step_s;
  return spec;
}

/// Root of a falling or rising function between two bounds.
double root(const std::function<double(double)>& f, double low, double high) {
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low + high);
    ((f(middle) > 0) == (f(low) > 0) ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

// v = 100 exp(-t / RC), RC = 10 ms; the current through R is v / R, through C minus that.
TEST(EngineCircuits, CapacitorDischargesByTheExponential) {
  Deck deck;
  const int top = deck.add_node();
  const int capacitor = deck.add(0, CapacitorElement{top, 0, 1e-5, 100.0});
  const int resistor = deck.add(1, ResistorElement{top, 0, 1e3});
  RunSpec spec = spec_of(0.02, 1e-4);
  spec.nodes = {top, 0};
  spec.currents = {resistor, capacitor};
  const Waveforms w = run_once(deck, spec);
  for (std::size_t i = 0; i < w.time_s.size(); ++i) {
    const double expected = 100.0 * std::exp(-w.time_s[i] / 0.01);
    EXPECT_NEAR(w.node_v[0][i], expected, 0.02);
    EXPECT_EQ(w.node_v[1][i], 0.0);
    EXPECT_NEAR(w.current_a[0][i], expected / 1e3, 2e-5);
    EXPECT_NEAR(w.current_a[1][i], -expected / 1e3, 2e-5);
  }
  EXPECT_LT(w.time_s.front(), spec.max_step_s / 50);
  EXPECT_NEAR(w.time_s.back(), spec.stop_s, 1e-12);
  EXPECT_NEAR(w.final_state.at(0), 100.0 * std::exp(-2.0), 0.02);
}

// i = 2 A exp(-t R / L) from a start current of 2 A, L/R = 10 ms; a -> b is positive.
TEST(EngineCircuits, CoilCurrentDecaysFromItsStart) {
  Deck deck;
  const int top = deck.add_node();
  const int coil = deck.add(0, InductorElement{0, top, 1.0, 2.0});
  deck.add(1, ResistorElement{top, 0, 100.0});
  RunSpec spec = spec_of(0.03, 1e-4);
  spec.currents = {coil};
  const Waveforms w = run_once(deck, spec);
  for (std::size_t i = 0; i < w.time_s.size(); ++i) {
    EXPECT_NEAR(w.current_a[0][i], 2.0 * std::exp(-w.time_s[i] / 0.01), 1e-3);
  }
  EXPECT_EQ(w.final_state.at(0), w.current_a[0].back());
}

// Series R L C: v = V exp(-at) (cos wt + a/w sin wt), a = R/2L, w^2 = 1/LC - a^2.
TEST(EngineCircuits, RingingCircuitFollowsTheDampedSine) {
  const double ohm = 20.0;
  const double henry = 0.1;
  const double farad = 1e-5;
  Deck deck;
  const int top = deck.add_node();
  const int middle = deck.add_node();
  deck.add(0, CapacitorElement{top, 0, farad, 50.0});
  deck.add(1, InductorElement{top, middle, henry, 0.0});
  deck.add(2, ResistorElement{middle, 0, ohm});
  RunSpec spec = spec_of(0.02, 1e-5);
  spec.nodes = {top};
  const Waveforms w = run_once(deck, spec);
  const double a = ohm / (2 * henry);
  const double omega = std::sqrt(1 / (henry * farad) - a * a);
  for (std::size_t i = 0; i < w.time_s.size(); ++i) {
    const double t = w.time_s[i];
    const double expected =
        50.0 * std::exp(-a * t) * (std::cos(omega * t) + a / omega * std::sin(omega * t));
    EXPECT_NEAR(w.node_v[0][i], expected, 0.1);
  }
}

// Half wave into a resistor: mean = Vp/pi - Vd/2, Vd the drop while it conducts. By hand: 1.8 x
// 25.85 mV x ln(i / 1 nA) is 0.75 V at 10 mA and 0.86 V at 0.1 A, so 0.37 to 0.43 V are lost.
TEST(EngineCircuits, HalfWaveRectifierGivesPeakOverPi) {
  Deck deck;
  const int source = deck.add_node();
  const int out = deck.add_node();
  deck.add(0, SineSourceElement{source, 0, 100.0, 60.0, 0.0});
  const int diode = deck.add(1, DiodeElement{source, out, 1e-9, 1.8, 0.1, 1e-11});
  const int load = deck.add(2, ResistorElement{out, 0, 1e3});
  RunSpec spec = spec_of(kMainsCycleSeconds, kMainsCycleSeconds / 400);
  spec.nodes = {out};
  spec.currents = {diode, load};
  const Waveforms w = run_once(deck, spec);
  double area = 0.0;
  for (std::size_t i = 1; i < w.time_s.size(); ++i) {
    area += 0.5 * (w.node_v[0][i] + w.node_v[0][i - 1]) * (w.time_s[i] - w.time_s[i - 1]);
    EXPECT_GT(w.node_v[0][i], -1e-3);
    // Kirchhoff: the diode's current is the load's.
    EXPECT_NEAR(w.current_a[0][i], w.current_a[1][i], 1e-9);
  }
  EXPECT_GT(area / kMainsCycleSeconds, 100.0 / std::numbers::pi - 0.44);
  EXPECT_LT(area / kMainsCycleSeconds, 100.0 / std::numbers::pi - 0.37);
}

// 100 V - 100 ohm - sink of 0.1 A with a knee of 5 V: the root of
// (100 - v)/100 = 0.1 v / sqrt(v^2 + 25); and the same with two sinks in series, whose common
// node has no conductance of its own far above the knee.
TEST(EngineCircuits, CurrentSinkFindsItsWorkingPoint) {
  Deck deck;
  const int top = deck.add_node();
  const int low = deck.add_node();
  deck.add(0, DcSourceElement{top, 0, 100.0});
  deck.add(1, ResistorElement{top, low, 100.0});
  const int sink = deck.add(2, CurrentSinkElement{low, 0, 0.1, 5.0});
  RunSpec spec = spec_of(1e-3, 1e-5);
  spec.nodes = {low};
  spec.currents = {sink};
  const Waveforms w = run_once(deck, spec);
  const auto drawn = [](double v) { return 0.1 * v / std::sqrt(v * v + 25.0); };
  const double v = root([&](double x) { return (100.0 - x) / 100.0 - drawn(x); }, 0.0, 100.0);
  EXPECT_NEAR(w.node_v[0].back(), v, 1e-3);
  EXPECT_NEAR(w.current_a[0].back(), drawn(v), 1e-5);
}

TEST(EngineCircuits, TwoCurrentSinksInSeriesShareTheVoltage) {
  Deck deck;
  const int top = deck.add_node();
  const int middle = deck.add_node();
  deck.add(0, DcSourceElement{top, 0, 600.0});
  deck.add(1, CurrentSinkElement{top, middle, 0.1, 5.0});
  deck.add(2, CurrentSinkElement{middle, 0, 0.1, 5.0});
  RunSpec spec = spec_of(1e-3, 1e-5);
  spec.nodes = {middle};
  EXPECT_NEAR(run_once(deck, spec).node_v[0].back(), 300.0, 1.0);
}

double thermal_ohm(double kelvin) { return 10.0 * std::pow(kelvin / 300.0, 1.2); }
double radiated_w(double kelvin) {
  const double room = std::pow(300.0, 4.195);
  return 60.0 * (std::pow(kelvin, 4.195) - room) / (std::pow(2700.0, 4.195) - room);
}

// Equilibrium: v^2 / R(T) = radiated watts; the root is found by halving.
TEST(EngineCircuits, ThermalResistorReachesItsEquilibrium) {
  for (const double volts : {20.0, 50.0, std::sqrt(60.0 * thermal_ohm(2700.0))}) {
    Deck deck;
    const int top = deck.add_node();
    deck.add(0, DcSourceElement{top, 0, volts});
    const int lamp =
        deck.add(1, ThermalResistorElement{top, 0, 10.0, 1.2, 2700.0, 60.0, 0.002, 300.0});
    RunSpec spec = spec_of(3.0, 2e-3);
    spec.currents = {lamp};
    const Waveforms w = run_once(deck, spec);
    const double kelvin = root(
        [&](double t) { return volts * volts / thermal_ohm(t) - radiated_w(t); }, 300.0, 4000.0);
    EXPECT_NEAR(w.final_state.at(0), kelvin, 0.002 * kelvin) << volts;
    EXPECT_NEAR(w.current_a[0].back(), volts / thermal_ohm(kelvin), 0.002 * volts / 100.0);
    // The first point lies 20 us after the start, when the wire is up to 8 K warmer.
    EXPECT_NEAR(w.current_a[0].front(), volts / 10.0, 0.04 * volts / 10.0);
  }
}

// A lamp in series with a heater, both cold: two B sources meet at one node.
TEST(EngineCircuits, LampAndHeaterInSeriesStart) {
  Deck deck;
  const int top = deck.add_node();
  const int middle = deck.add_node();
  deck.add(0, SineSourceElement{top, 0, 170.0, 60.0, 90.0});
  deck.add(1, ThermalResistorElement{top, middle, 10.0, 1.2, 2700.0, 60.0, 0.002, 300.0});
  deck.add(2, ThermalResistorElement{middle, 0, 1.0, 1.2, 1100.0, 20.0, 0.05, 300.0});
  RunSpec spec = spec_of(0.5, kMainsCycleSeconds / 200);
  spec.nodes = {middle};
  const Waveforms w = run_once(deck, spec);
  EXPECT_NEAR(w.node_v[0].front(), 170.0 / 11.0, 0.1);
  EXPECT_GT(w.final_state.at(0), 1500.0);
}

/// 1:3 transformer fed by 100 V peak behind 1 ohm; windings of 0.5 and 9 ohm.
struct Transformer {
  Deck deck;
  RunSpec spec = spec_of(kMainsCycleSeconds, kMainsCycleSeconds / 200);
};

Transformer transformer(double load_ohm) {
  Transformer t;
  const int mains = t.deck.add_node();
  const int primary = t.deck.add_node();
  const int core = t.deck.add_node();
  const int load = t.deck.add_node();
  const int source = t.deck.add(0, SineSourceElement{mains, 0, 100.0, 60.0, 0.0});
  t.deck.add(0, ResistorElement{mains, primary, 1.0});
  t.deck.add(1, WindingElement{primary, 0, core, 1.0, 0.5});
  const int secondary = t.deck.add(1, WindingElement{load, 0, core, 3.0, 9.0});
  t.deck.add(2, ResistorElement{load, 0, load_ohm});
  t.spec.nodes = {load};
  t.spec.currents = {source, secondary};
  return t;
}

// By hand: the primary sees 1 + 0.5 + (9 + load)/9 ohm; the source's own current a -> b is minus
// that of the primary, the secondary's minus a third of it.
TEST(EngineCircuits, WindingsOnACoreMakeATransformerInBothForms) {
  for (const double ohm : {1e9, 90.0}) {
    const double primary_a = 100.0 / (1.5 + (9.0 + ohm) / 9.0);
    const Transformer t = transformer(ohm);
    for (const Deck& deck : {t.deck, with_ammeters(t.deck)}) {
      const Waveforms w = run_once(deck, t.spec);
      for (std::size_t i = 0; i < w.time_s.size(); ++i) {
        const double sine = std::sin(kTwoPi * 60.0 * w.time_s[i]);
        EXPECT_NEAR(w.node_v[0][i], primary_a / 3.0 * ohm * sine, 1e-3);
        EXPECT_NEAR(w.current_a[0][i], -primary_a * sine, 1e-4);
        EXPECT_NEAR(w.current_a[1][i], -primary_a / 3.0 * sine, 1e-4);
      }
    }
  }
}

// A variac at zero has a winding without turns: it is a resistor, and its core stays as it is.
TEST(EngineCircuits, WindingWithoutTurnsIsAResistor) {
  Deck deck;
  const int top = deck.add_node();
  const int core = deck.add_node();
  deck.add(0, DcSourceElement{top, 0, 10.0});
  deck.add(0, ResistorElement{core, 0, 50.0});
  const int winding = deck.add(0, WindingElement{top, 0, core, 0.0, 4.0});
  RunSpec spec = spec_of(0.01, 1e-3);
  spec.nodes = {core};
  spec.currents = {winding};
  const Waveforms w = run_once(deck, spec);
  EXPECT_NEAR(w.node_v[0].back(), 0.0, 1e-9);
  EXPECT_NEAR(w.current_a[0].back(), 2.5, 1e-9);
}

// Four cycles at once against four runs of one cycle, each from the final state of the one
// before. They differ by the discretisation: within 0.05 % of the output.
TEST(EngineCircuits, HandedOverStateGoesOnAsAnUninterruptedRun) {
  SmallRectifier r = small_rectifier();
  RunSpec spec = four_cycles(r);
  spec.max_step_s = kMainsCycleSeconds / 400;
  const Waveforms at_once = run_once(r.deck, spec);
  spec.stop_s = kMainsCycleSeconds;
  WorkerPool pool({1, {}});
  Waveforms piece;
  for (int cycle = 0; cycle < 4; ++cycle) {
    pool.for_each(1, [&](Engine& engine, std::size_t) { piece = engine.run(r.deck, spec); });
    set_start_state(r.deck, piece.final_state);
  }
  EXPECT_GT(at_once.final_state.at(0), 100.0);
  EXPECT_NEAR(piece.final_state.at(0), at_once.final_state.at(0), 5e-4 * at_once.final_state.at(0));
}

// Kept points start exactly at the asked time and equal the tail of the whole run.
TEST(EngineCircuits, KeepsPointsFromTheAskedTime) {
  const SmallRectifier r = small_rectifier();
  RunSpec spec = four_cycles(r);
  const Waveforms whole = run_once(r.deck, spec);
  spec.save_from_s = 3 * kMainsCycleSeconds;
  const Waveforms tail = run_once(r.deck, spec);
  ASSERT_LT(tail.time_s.size(), whole.time_s.size() / 3);
  EXPECT_EQ(tail.time_s.front(), spec.save_from_s);
  EXPECT_EQ(tail.final_state, whole.final_state);
  for (std::size_t k = 1; k < tail.time_s.size(); ++k) {
    const std::size_t back = tail.time_s.size() - k;
    EXPECT_EQ(tail.time_s[back], whole.time_s[whole.time_s.size() - k]);
    EXPECT_EQ(tail.node_v[0][back], whole.node_v[0][whole.time_s.size() - k]);
  }
  EXPECT_NEAR(tail.node_v[0][0], tail.node_v[0][1], 1.0);
}

// The three accuracies agree on a damped circuit: mean output within 0.3 %.
TEST(EngineCircuits, FineAndNormalRunsAgree) {
  const SmallRectifier r = small_rectifier();
  RunSpec spec = four_cycles(r);
  const double normal_v = run_once(r.deck, spec).final_state.at(0);
  spec.accuracy = Accuracy::fine;
  const Waveforms fine = run_once(r.deck, spec);
  EXPECT_NEAR(fine.final_state.at(0), normal_v, 3e-3 * normal_v);
  EXPECT_GT(fine.time_s.size(), 800U);  // half the step: 200 points in each of 4 cycles
}

}  // namespace
}  // namespace firstglow::sim::testing
