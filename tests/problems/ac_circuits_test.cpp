// Alternating current on R, L and C with answers in closed form: through ngspice directly, and
// through our own search for the state that repeats itself.
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::CapacitorElement;
using netlists::Deck;
using netlists::InductorElement;
using netlists::ResistorElement;
using netlists::SineSourceElement;

constexpr double kPi = std::numbers::pi;
constexpr double kHertz = 60.0;
constexpr double kOmega = 2.0 * kPi * kHertz;
constexpr double kPeakV = 100.0;

/// Amplitude and phase of a settled sine, taken by its first Fourier component.
std::complex<double> phasor(const std::vector<double>& time_s, const std::vector<double>& value,
                            double hertz) {
  std::vector<double> sine;
  std::vector<double> cosine;
  for (const double t : time_s) {
    sine.push_back(2.0 * std::sin(2.0 * kPi * hertz * t));
    cosine.push_back(2.0 * std::cos(2.0 * kPi * hertz * t));
  }
  return {sim::mean_product_of(time_s, value, sine), sim::mean_product_of(time_s, value, cosine)};
}

/// The last of many cycles, straight through ngspice.
sim::Waveforms after_cycles(const Deck& deck, const CyclePlan& plan, int cycles) {
  sim::RunSpec spec;
  spec.stop_s = cycles / plan.hertz;
  spec.save_from_s = (cycles - 1) / plan.hertz;
  spec.max_step_s = 1.0 / plan.hertz / plan.steps_per_cycle;
  spec.nodes = plan.nodes;
  spec.currents = plan.currents;
  return run(deck, spec);
}

void expect_phasor(const sim::Waveforms& waves, const std::vector<double>& value, double hertz,
                   std::complex<double> wanted) {
  const auto found = phasor(waves.time_s, value, hertz);
  EXPECT_TRUE(agrees(std::abs(found), {std::abs(wanted), 1e-3, 0.0, "by hand: complex ohms"}));
  EXPECT_NEAR(std::arg(found / wanted) * 180.0 / kPi, 0.0, 0.2) << "phase in degrees";
}

/// A sine on a chain of two-poles; the first has the current we look at.
struct Chain {
  Deck deck;
  int source = -1, first = -1;
  std::vector<int> nodes;
};
Chain chain(double hertz, const std::vector<netlists::ElementData>& parts) {
  Chain result;
  int here = result.deck.add_node();
  result.nodes.push_back(here);
  result.source = result.deck.add(-1, SineSourceElement{here, 0, kPeakV, hertz, 0.0});
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const int next = i + 1 == parts.size() ? 0 : result.deck.add_node();
    auto data = parts[i];
    std::visit(
        [&](auto& e) {
          if constexpr (requires { e.a; }) {
            e.a = here;
            e.b = next;
          }
        },
        data);
    const int index = result.deck.add(-1, data);
    result.first = i == 0 ? index : result.first;
    here = next;
    if (next != 0) {
      result.nodes.push_back(next);
    }
  }
  return result;
}

// i = V / (R + jwL).
TEST(AcProblems, ChokeAndResistorInBothSolvers) {
  const Chain c = chain(kHertz, {ResistorElement{0, 0, 500.0}, InductorElement{0, 0, 2.0}});
  const CyclePlan plan{kHertz, 1000, {}, {c.first}};
  const auto wanted = kPeakV / std::complex<double>(500.0, kOmega * 2.0);
  for (const auto& waves : {settled_cycle(c.deck, plan), after_cycles(c.deck, plan, 10)}) {
    expect_phasor(waves, waves.current_a[0], kHertz, wanted);
  }
}

// RC low pass at the ripple frequency: 1 / (1 + jwRC).
TEST(AcProblems, ResistorCapacitorFilterInBothSolvers) {
  const Chain c = chain(120.0, {ResistorElement{0, 0, 2200.0}, CapacitorElement{0, 0, 22e-6}});
  const CyclePlan plan{120.0, 1000, {c.nodes.at(1)}, {}};
  const auto wanted =
      kPeakV / (1.0 + std::complex<double>(0.0, 2.0 * kPi * 120.0 * 2200.0 * 22e-6));
  for (const auto& waves : {settled_cycle(c.deck, plan), after_cycles(c.deck, plan, 80)}) {
    expect_phasor(waves, waves.node_v[0], 120.0, wanted);
  }
}

// At w = 1/sqrt(LC) the current is V/R and the capacitor has Q = wL/R times the volts.
TEST(AcProblems, SeriesResonanceMultipliesTheVoltsByQ) {
  const double farad = 10e-6;
  const double henry = 1.0 / (kOmega * kOmega * farad);
  const double ohm = 50.0;
  const Chain c = chain(kHertz, {ResistorElement{0, 0, ohm}, InductorElement{0, 0, henry},
                                 CapacitorElement{0, 0, farad}});
  const CyclePlan plan{kHertz, 2000, {c.nodes.at(2)}, {c.first}};
  const double q = kOmega * henry / ohm;
  for (const auto& waves : {settled_cycle(c.deck, plan), after_cycles(c.deck, plan, 40)}) {
    expect_phasor(waves, waves.current_a[0], kHertz, kPeakV / ohm);
    expect_phasor(waves, waves.node_v[0], kHertz, {0.0, -q * kPeakV});
  }
}

// A capacitor across a choke with copper r: at w^2 = 1/LC - (r/L)^2 the trap is L/(rC) ohm, real.
TEST(AcProblems, TunedChokeIsAResistance) {
  const double henry = 10.0;
  const double copper = 100.0;
  const double hertz = 120.0;
  const double omega = 2.0 * kPi * hertz;
  const double farad = henry / (omega * omega * henry * henry + copper * copper);
  Deck deck;
  const int top = deck.add_node();
  const int middle = deck.add_node();
  const int source = deck.add(-1, SineSourceElement{top, 0, kPeakV, hertz, 0.0});
  deck.add(-1, InductorElement{top, middle, henry});
  deck.add(-1, ResistorElement{middle, 0, copper});
  deck.add(-1, CapacitorElement{top, 0, farad});
  const auto waves = settled_cycle(deck, {hertz, 2000, {}, {source}});
  const double trap_ohm = henry / (copper * farad);
  EXPECT_NEAR(trap_ohm / 568.6e3, 1.0, 0.01) << "by hand: (wL)^2 / r, about";
  const auto found = phasor(waves.time_s, waves.current_a[0], hertz);
  // A capacitor of its size would draw 76 times as much; the residue of the difference counts.
  EXPECT_TRUE(agrees(std::abs(found) * trap_ohm / kPeakV, {1.0, 0.02, 0.0, "by hand: L/(rC)"}));
}

// i = Vm/Z [sin(wt + c - p) - sin(c - p) exp(-Rt/L)], p = atan(wL/R), c the closing angle.
TEST(AcProblems, ClosingAngleSetsTheOffsetOfAChoke) {
  const double ohm = 20.0;
  const double henry = 0.5;
  const double z = std::hypot(ohm, kOmega * henry);
  const double lag = std::atan2(kOmega * henry, ohm);
  for (const double closing_deg : {0.0, 45.0, 90.0, 135.0}) {
    const double closing = closing_deg * kPi / 180.0;
    Deck deck;
    const int top = deck.add_node();
    const int middle = deck.add_node();
    deck.add(-1, SineSourceElement{top, 0, kPeakV, kHertz, closing_deg});
    deck.add(-1, ResistorElement{top, middle, ohm});
    const int choke = deck.add(-1, InductorElement{middle, 0, henry});
    sim::RunSpec spec;
    spec.stop_s = 0.1;
    spec.max_step_s = 1.0 / kHertz / 1000.0;
    spec.currents = {choke};
    const auto waves = run(deck, spec);
    double worst_a = 0.0;
    for (std::size_t i = 0; i < waves.time_s.size(); ++i) {
      const double t = waves.time_s[i];
      const double wanted = kPeakV / z *
                            (std::sin(kOmega * t + closing - lag) -
                             std::sin(closing - lag) * std::exp(-ohm * t / henry));
      worst_a = std::max(worst_a, std::abs(waves.current_a[0][i] - wanted));
    }
    EXPECT_LT(worst_a, 1e-3 * kPeakV / z) << closing_deg << " deg";
  }
}

// Half of what the source gives is lost on the way into a capacitor, whatever the resistor.
TEST(AcProblems, ChargingLosesHalfOfTheEnergyInAnyResistor) {
  for (const double ohm : {10.0, 100.0, 1000.0}) {
    Deck deck;
    const int top = deck.add_node();
    const int plus = deck.add_node();
    deck.add(-1, netlists::DcSourceElement{top, 0, 500.0});
    const int resistor = deck.add(-1, ResistorElement{top, plus, ohm});
    deck.add(-1, CapacitorElement{plus, 0, 40e-6});
    sim::RunSpec spec;
    spec.stop_s = 12.0 * ohm * 40e-6;
    spec.max_step_s = ohm * 40e-6 / 200.0;
    spec.nodes = {plus};
    spec.currents = {resistor};
    const auto waves = run(deck, spec);
    const double lost_j = ohm * sim::square_integral_of({waves.time_s, waves.current_a[0]});
    EXPECT_TRUE(agrees(lost_j, {5.0, 1e-3, 0.0, "by hand: C V^2 / 2"}));
    EXPECT_TRUE(agrees(waves.node_v[0].back(), {500.0, 1e-4, 0.0, "by hand: V"}));
  }
}

// A charged can put across an empty one of three times its size: a quarter of the volts is left,
// and three quarters of the joules are gone.
TEST(AcProblems, SharedChargeKeepsCoulombsAndLosesJoules) {
  Deck deck;
  const int full = deck.add_node();
  const int empty = deck.add_node();
  deck.add(-1, CapacitorElement{full, 0, 10e-6, 400.0});
  deck.add(-1, ResistorElement{full, empty, 50.0});
  deck.add(-1, CapacitorElement{empty, 0, 30e-6});
  sim::RunSpec spec;
  spec.stop_s = 0.01;
  spec.max_step_s = 2e-6;
  spec.nodes = {full, empty};
  const auto waves = run(deck, spec);
  EXPECT_TRUE(agrees(waves.node_v[0].back(), {100.0, 1e-4, 0.0, "by hand: Q / (C1 + C2)"}));
  EXPECT_TRUE(agrees(waves.node_v[1].back(), {100.0, 1e-4, 0.0, "by hand: Q / (C1 + C2)"}));
}

// Unbalanced bridge 10 V, arms 1, 2 / 3, 4 kohm, 5 kohm across: by hand from the two node equations
// va (1/1 + 1/2 + 1/5) - vb/5 = 10/1, vb (1/3 + 1/4 + 1/5) - va/5 = 10/3.
TEST(AcProblems, UnbalancedBridgeMeetsItsNodeEquations) {
  Deck deck;
  const int top = deck.add_node();
  const int left = deck.add_node();
  const int right = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{top, 0, 10.0});
  deck.add(-1, ResistorElement{top, left, 1e3});
  deck.add(-1, ResistorElement{left, 0, 2e3});
  deck.add(-1, ResistorElement{top, right, 3e3});
  deck.add(-1, ResistorElement{right, 0, 4e3});
  deck.add(-1, ResistorElement{left, right, 5e3});
  sim::RunSpec spec;
  spec.stop_s = 1e-3;
  spec.max_step_s = 1e-4;
  spec.nodes = {left, right};
  const auto waves = run(deck, spec);
  const double det = 1.7 * (47.0 / 60.0) - 0.04;
  const double left_v = (10.0 * (47.0 / 60.0) + 0.2 * 10.0 / 3.0) / det;
  const double right_v = (1.7 * 10.0 / 3.0 + 0.2 * 10.0) / det;
  EXPECT_TRUE(agrees(waves.node_v[0].back(), {left_v, 1e-6, 0.0, "by hand: two equations"}));
  EXPECT_TRUE(agrees(waves.node_v[1].back(), {right_v, 1e-6, 0.0, "by hand: two equations"}));
}

}  // namespace
}  // namespace firstglow::published
