// Capacitor input, the LC step, and what a lossy capacitor does: rules of thumb against the
// circuit.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/full_wave_source.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"
#include "tests/published/schade_circuit.hpp"

namespace firstglow::published {
namespace {

constexpr double kPi = std::numbers::pi;

/// Vpp / Vm that the rule of constant discharge gives: I / (f C) or I / (2 f C).
double rule_swing(const SchadeCase& circuit, double mean) {
  const double per_cycle = circuit.rectifier == Rectifier::full_wave ? 2.0 : 1.0;
  return 2.0 * kPi * mean / (per_cycle * circuit.wcr);
}

// I / (2 f C) full wave and I / (f C) half wave [TERMAN] take the whole gap as discharge, so the
// true swing is smaller.
TEST(CapacitorInput, SwingIsBelowTheHandbookRule) {
  for (const Rectifier rectifier : {Rectifier::half_wave, Rectifier::full_wave}) {
    for (const double wcr : {4.0, 20.0, 100.0, 1000.0}) {
      for (const double share : {0.001, 0.01, 0.1}) {
        const SchadeCase circuit{rectifier, wcr, share};
        const SchadeFigures found = schade_by_engine(circuit);
        EXPECT_LT(found.swing, rule_swing(circuit, found.mean)) << wcr << " " << share;
      }
    }
  }
}

// The rule comes close only for a large capacitor behind hardly any resistance.
TEST(CapacitorInput, HandbookRuleIsCloseForLargeCapacitorAndStiffSource) {
  const SchadeCase stiff{Rectifier::half_wave, 1000, 1e-5};
  const SchadeFigures found = schade_by_engine(stiff);
  EXPECT_TRUE(agrees(found.swing, {rule_swing(stiff, found.mean), 0.05, 0.0, "[TERMAN] I/(fC)"}));
  // Triangle: rms = Vpp / (2 sqrt 3), so the ripple factor is 1/(2 sqrt3 f C R).
  EXPECT_TRUE(
      agrees(found.ripple_percent / 100.0, {2.0 * kPi / (2.0 * std::sqrt(3.0) * stiff.wcr), 0.05,
                                            0.0, "[TERMAN] ripple factor of a triangle"}));
}

// Capacitor rms from the rectifier's: sqrt(rms^2 - mean^2). Full wave, wCR 20, 5 %: both diodes
// together 2.529/sqrt2 = 1.788 of the load current, the capacitor 1.482.
TEST(CapacitorInput, CapacitorCarriesWhatTheLoadDoesNot) {
  const SchadeDeck built = schade_deck({Rectifier::full_wave, 20, 0.05});
  CyclePlan plan{kSchadeHertz, 800, {}, {}};
  for (std::size_t i = 0; i < built.deck.elements.size(); ++i) {
    if (std::holds_alternative<netlists::CapacitorElement>(built.deck.elements[i].data)) {
      plan.currents.push_back(static_cast<int>(i));
    }
  }
  plan.currents.push_back(static_cast<int>(built.deck.elements.size()) - 1);  // the load
  const auto waves = settled_cycle(built.deck, plan);
  EXPECT_TRUE(agrees(sim::rms_of({waves.time_s, waves.current_a.at(0)}) /
                         sim::mean_of({waves.time_s, waves.current_a.at(1)}),
                     {1.482, 2e-3, 0.0, "computed: sqrt(1.788^2 - 1) of the Schade table row"}));
}

struct StepResponse {
  double peak_v, peak_s;
};
/// 100 V put on a series L, R, C at rest.
StepResponse step(double henry, double ohm, double farad) {
  netlists::Deck deck;
  const int supply = deck.add_node();
  const int middle = deck.add_node();
  const int top = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{supply, 0, 100.0});
  deck.add(-1, netlists::ResistorElement{supply, middle, ohm});
  deck.add(-1, netlists::InductorElement{middle, top, henry});
  deck.add(-1, netlists::CapacitorElement{top, 0, farad});
  const double ring_s = 2.0 * kPi * std::sqrt(henry * farad);
  sim::RunSpec spec;
  spec.stop_s = ring_s;
  spec.max_step_s = ring_s / 2000.0;
  spec.nodes = {top};
  const auto waves = run(deck, spec);
  const std::size_t k = sim::index_of_peak(waves.node_v[0]);
  return {waves.node_v[0][k], waves.time_s[k]};
}

TEST(SwitchOn, UndampedChokeAndCapacitorReachTwiceTheVolts) {
  const StepResponse found = step(10.0, 1e-3, 40e-6);
  EXPECT_TRUE(agrees(found.peak_v, {200.0, 1e-3, 0.0, "by hand: 1 - cos wt"}));
  EXPECT_TRUE(agrees(found.peak_s, {0.062832, 5e-3, 0.0, "by hand: pi sqrt(LC)"}));
}

// 1 + exp(-pi z / sqrt(1 - z^2)), z = (R/2) sqrt(C/L).
TEST(SwitchOn, DampingLowersTheOvershootByItsFormula) {
  for (const double ohm : {50.0, 200.0, 500.0}) {
    const double z = 0.5 * ohm * std::sqrt(40e-6 / 10.0);
    const double peak = 100.0 * (1.0 + std::exp(-kPi * z / std::sqrt(1.0 - z * z)));
    EXPECT_TRUE(agrees(step(10.0, ohm, 40e-6).peak_v, {peak, 5e-4, 0.0, "by hand: damped step"}));
  }
}

TEST(SwitchOn, OverdampedCircuitDoesNotOvershoot) {
  EXPECT_LE(step(10.0, 1.01 * 2.0 * std::sqrt(10.0 / 40e-6), 40e-6).peak_v, 100.0);
}

// A cold choke-input supply behind silicon, nothing drawing: the capacitor goes to about twice the
// mean, 4 Vm / pi, and the diodes keep it there. With w^2 L C = 57 the ripple on the way is small.
TEST(SwitchOn, ChokeInputSupplyOvershootsToTwiceItsMean) {
  FullWaveSource source = full_wave_source();
  const int output = source.deck.add_node();
  source.deck.add(-1, netlists::InductorElement{source.rectified, output, 10.0});
  source.deck.add(-1, netlists::CapacitorElement{output, 0, 40e-6});
  sim::RunSpec spec;
  spec.stop_s = 0.06;
  spec.max_step_s = 1.0 / kSourceHertz / 800.0;
  spec.nodes = {output};
  const auto waves = run(source.deck, spec);
  EXPECT_TRUE(agrees(sim::highest_of(waves.node_v[0]) / kSourcePeakV,
                     {4.0 / kPi, 0.02, 0.0, "by hand: 2 x 2/pi; ripple left out"}));
}

struct Loss {
  double ohm, tan_delta;
};
/// ESR and tan delta as a bridge would read them: from mean watts and rms amps at 120 Hz.
Loss measured_loss(double farad, double esr_ohm) {
  constexpr double kHertz = 120.0;
  netlists::Deck deck;
  const int top = deck.add_node();
  const int inside = deck.add_node();
  const int source = deck.add(-1, netlists::SineSourceElement{top, 0, 10.0, kHertz, 0.0});
  deck.add(-1, netlists::ResistorElement{top, inside, esr_ohm});
  deck.add(-1, netlists::CapacitorElement{inside, 0, farad});
  const auto waves = settled_cycle(deck, {kHertz, 2000, {top}, {source}});
  const double watts = -sim::mean_product_of(waves.time_s, waves.node_v[0], waves.current_a[0]);
  const double amps = sim::rms_of({waves.time_s, waves.current_a[0]});
  const double volt_amps = amps * sim::rms_of({waves.time_s, waves.node_v[0]});
  return {watts / (amps * amps), watts / std::sqrt(volt_amps * volt_amps - watts * watts)};
}

// ESR = tan delta / (2 pi f C).
TEST(LossyCapacitor, SeriesResistanceFollowsFromTanDelta) {
  const auto esr = [](double tan_delta, double farad) {
    return tan_delta / (2.0 * kPi * 120.0 * farad);
  };
  EXPECT_TRUE(agrees(esr(0.20, 100e-6), {2.65, 0.0, 5.1e-3, "by hand: tan d/(2 pi f C)"}));
  EXPECT_TRUE(agrees(esr(0.15, 40e-6), {4.97, 0.0, 5.1e-3, "by hand: tan d/(2 pi f C)"}));
  const Loss large = measured_loss(100e-6, esr(0.20, 100e-6));
  EXPECT_TRUE(agrees(large.tan_delta, {0.20, 1e-3, 0.0, "by hand: P/Q"}));
  EXPECT_TRUE(agrees(large.ohm, {2.65, 2e-3, 0.0, "by hand: P/I^2"}));
  EXPECT_TRUE(
      agrees(measured_loss(40e-6, esr(0.15, 40e-6)).tan_delta, {0.15, 1e-3, 0.0, "by hand: P/Q"}));
}

}  // namespace
}  // namespace firstglow::published
