// Transformers and chokes as a restorer wires them: bucking, half taps, a resonated choke, a
// variac.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rig_run.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

constexpr const char* kHead =
    "firstglow: 1\nname: problem\nchassis: G\nparts:\n"
    "  P1: {kind: mains_inlet, nodes: {line: L, neutral: N}, nominal: 120 V, low: 110 V,"
    " high: 127 V, frequency: 60 Hz, source_resistance: 0.001 ohm}\n";

core::Rig rig_of(const std::string& parts) {
  return core::read_rig_text(kHead + parts, "problem.yaml");
}

core::NodeIndex node_of(const core::Rig& rig, const std::string& name) {
  for (std::size_t i = 0; i < rig.nodes.size(); ++i) {
    if (rig.nodes[i].name == name) {
      return static_cast<core::NodeIndex>(i);
    }
  }
  throw core::ContractError("no node " + name);
}

sim::SteadyRun steady(const core::Rig& rig, const netlists::Situation& situation) {
  std::optional<sim::SteadyRun> run;
  with_engine([&](sim::Engine& engine) {
    sim::SteadyRunner runner(engine, rig);
    run.emplace(runner.run(situation));
  });
  return std::move(*run);
}

double rms_v(const core::Rig& rig, const sim::SteadyRun& run, const char* a, const char* b) {
  const auto volts = run.cycle.volts_between(node_of(rig, a), node_of(rig, b));
  return sim::rms_of({run.cycle.time_s(), volts});
}

double mean_v(const core::Rig& rig, const sim::SteadyRun& run, const char* a) {
  return sim::mean_of({run.cycle.time_s(), run.cycle.node_v(node_of(rig, a))});
}

/// A 12.6 V filament transformer with its secondary in the line to the rig, one way or the other.
core::Rig bucking_rig(const char* secondary) {
  return rig_of(
      std::string("  T2:\n    kind: power_transformer\n"
                  "    primary: {nodes: [L, N], volts: 120 V, ohms: 20 ohm}\n"
                  "    secondaries:\n      low: {nodes: ") +
      secondary +
      ", volts: 12 V, ohms: 0.1 ohm}\n"
      "    no_load_current: 1 mA\n    no_load_watts: 0.06 W\n"
      "  R1: {kind: resistor, role: bleeder, nodes: [RIG, N], value: 100 ohm, watts: 200 W}\n"
      "  R2: {kind: resistor, role: bleeder, nodes: [G, N], value: 1 ohm, watts: 1 W}\n");
}

// Bucking: line less 12 V. The low winding carries the rig's current, the primary a tenth of it
// backwards; seen from the rig 0.1 + 20 / 100 = 0.3 ohm of copper in series with 108 V (by hand).
TEST(BuckingTransformer, TakesItsVoltsOffTheLine) {
  const core::Rig rig = bucking_rig("[L, RIG]");
  const auto run = steady(rig, {});
  EXPECT_TRUE(agrees(rms_v(rig, run, "RIG", "N"), {108.0 * 100.0 / 100.3, 1e-3, 0.0,
                                                   "by hand: (V - 12) R / (R + r2 + r1/100)"}));
}

// The same winding turned round boosts: the mistake a meter finds before the rig does.
TEST(BuckingTransformer, TurnedRoundItBoosts) {
  const core::Rig rig = bucking_rig("[RIG, L]");
  const auto run = steady(rig, {});
  EXPECT_TRUE(
      agrees(rms_v(rig, run, "RIG", "N"), {132.0 * 100.0 / 100.3, 1e-3, 0.0, "by hand: V + 12"}));
}

/// 2 x 300 V winding, bridge, tap to a filter of its own; loads in kohm (0: none).
core::Rig economy_rig(double full_kohm, double half_kohm) {
  const auto load = [](const char* name, const char* node, double kohm) {
    return std::string("  ") + name + ": {kind: resistor, role: bleeder, nodes: [" + node +
           ", G], value: " + std::to_string(static_cast<int>(kohm)) + "k, watts: 50 W}\n";
  };
  return rig_of(
      "  T1:\n    kind: power_transformer\n"
      "    primary: {nodes: [L, N], volts: 120 V, ohms: 0.5 ohm}\n"
      "    secondaries:\n      plate: {nodes: [A, T, B], volts: 2x300 V, ohms: 2x10 ohm}\n"
      "    no_load_current: 10 mA\n    no_load_watts: 0.6 W\n"
      "  D1: {kind: silicon_diode, type: 1N4007, nodes: {anode: A, cathode: F}}\n"
      "  D2: {kind: silicon_diode, type: 1N4007, nodes: {anode: B, cathode: F}}\n"
      "  D3: {kind: silicon_diode, type: 1N4007, nodes: {anode: G, cathode: A}}\n"
      "  D4: {kind: silicon_diode, type: 1N4007, nodes: {anode: G, cathode: B}}\n"
      "  C1: {kind: film_capacitor, nodes: [F, G], value: 40 uF, esr: 0.5 ohm}\n"
      "  C2: {kind: film_capacitor, nodes: [T, G], value: 40 uF, esr: 0.5 ohm}\n" +
      load("R1", "F", full_kohm) + load("R2", "T", half_kohm));
}

// Hardly loaded, bridge and tap charge to the peak and to half of it: 848.5 V and 424.3 V less the
// drops of the diodes (by hand; two drops on the full rail, one on the half).
TEST(EconomyTap, GivesHalfOfTheBridge) {
  const core::Rig rig = economy_rig(1000.0, 500.0);
  const auto run = steady(rig, {});
  const double full_v = mean_v(rig, run, "F");
  EXPECT_TRUE(agrees(full_v, {848.5, 0.01, 0.0, "by hand: 2 sqrt(2) 300 V"}));
  EXPECT_TRUE(agrees(mean_v(rig, run, "T") / full_v, {0.5, 0.01, 0.0, "by hand: half"}));
}

// The rails share winding and lower diodes: loading the tap pulls the full rail down too.
TEST(EconomyTap, LoadOnOneRailMovesTheOther) {
  const core::Rig light = economy_rig(20.0, 500.0);
  const core::Rig heavy = economy_rig(20.0, 4.0);
  const double before = mean_v(light, steady(light, {}), "F");
  const double after = mean_v(heavy, steady(heavy, {}), "F");
  EXPECT_LT(after, before - 3.0);
}

/// Full wave into a choke of 10 H, with or without a capacitor across it that resonates at 120 Hz.
core::Rig choke_rig(bool resonated) {
  return rig_of(
      std::string(
          "  T1:\n    kind: power_transformer\n"
          "    primary: {nodes: [L, N], volts: 120 V, ohms: 0.2 ohm}\n"
          "    secondaries:\n      plate: {nodes: [A, G, B], volts: 2x300 V, ohms: 2x5 ohm}\n"
          "    no_load_current: 10 mA\n    no_load_watts: 0.6 W\n"
          "  D1: {kind: silicon_diode, type: 1N4007, nodes: {anode: A, cathode: F}}\n"
          "  D2: {kind: silicon_diode, type: 1N4007, nodes: {anode: B, cathode: F}}\n"
          "  L1: {kind: choke, nodes: [F, O], value: 10 H, dc_resistance: 50 ohm}\n"
          "  C1: {kind: film_capacitor, nodes: [O, G], value: 4 uF, esr: 0.5 ohm}\n"
          "  R1: {kind: resistor, role: bleeder, nodes: [O, G], value: 3k, watts: 50 W}\n") +
      (resonated ? "  C2: {kind: film_capacitor, nodes: [F, O], value: 176 nF, esr: 10 ohm}\n"
                 : ""));
}

/// Amplitude of the 120 Hz part of a node's volts.
double ripple_120_v(const core::Rig& rig, const sim::SteadyRun& run, const char* name) {
  std::vector<double> sine, cosine;
  for (const double t : run.cycle.time_s()) {
    sine.push_back(2.0 * std::sin(2.0 * std::numbers::pi * 120.0 * t));
    cosine.push_back(2.0 * std::cos(2.0 * std::numbers::pi * 120.0 * t));
  }
  const auto& volts = run.cycle.node_v(node_of(rig, name));
  return std::hypot(sim::mean_product_of(run.cycle.time_s(), volts, sine),
                    sim::mean_product_of(run.cycle.time_s(), volts, cosine));
}

// 176 nF across 10 H blocks 120 Hz (1 / (2 pi sqrt(L C)) = 119.97 Hz by hand): only the core loss
// of 30 times the reactance is left, so the 120 Hz ripple falls by more than ten.
TEST(ResonatedChoke, BlocksTheSecondHarmonic) {
  const core::Rig plain = choke_rig(false);
  const core::Rig tuned = choke_rig(true);
  const double before = ripple_120_v(plain, steady(plain, {}), "O");
  const double after = ripple_120_v(tuned, steady(tuned, {}), "O");
  EXPECT_LT(after, before / 10.0);
}

// Its price: the capacitor stands the whole alternating volts of the choke. Output mean Vo, input a
// rectified sine: once a cycle it sees at least -Vo (input at zero), and that must be in its
// stress.
TEST(ResonatedChoke, StressesItsCapacitorByTheOutputVolts) {
  const core::Rig rig = choke_rig(true);
  const auto run = steady(rig, {});
  const double output_v = mean_v(rig, run, "O");
  double seen_v = 0.0;
  for (const sim::Stress& stress : sim::stresses_of(rig, run.cycle, sim::RunKind::steady)) {
    if (rig.parts[static_cast<std::size_t>(stress.part)].designator == "C2" &&
        stress.rule == sim::StressRule::capacitor_working_volts) {
      seen_v = stress.value;
    }
  }
  EXPECT_GT(seen_v, 0.95 * output_v);
  EXPECT_LT(seen_v, 1.2 * output_v);
}

/// A variac with 4 ohm of winding and no brush resistance, into 10 ohm.
double variac_output_v(double setting) {
  const core::Rig rig = rig_of(
      "  V1: {kind: variac, nodes: {input: L, output: O, common: N}, output_resistance: 0 ohm,"
      " winding_resistance: 4 ohm}\n"
      "  R1: {kind: resistor, role: bleeder, nodes: [O, N], value: 10 ohm, watts: 2 kW}\n"
      "  R2: {kind: resistor, role: bleeder, nodes: [G, N], value: 1 ohm, watts: 1 W}\n");
  netlists::Situation situation;
  situation.variac_setting = setting;
  const auto run = steady(rig, situation);
  return rms_v(rig, run, "O", "N");
}

// Output ohms R s (1 - s), by hand from the heat in the two parts of the winding: 1 ohm at half
// setting, 0.75 ohm at a quarter and at three quarters, none at full.
TEST(Variac, HasMostResistanceAtHalfSetting) {
  for (const double s : {0.25, 0.5, 0.75, 1.0}) {
    const double ohm = 4.0 * s * (1.0 - s);
    EXPECT_TRUE(agrees(variac_output_v(s),
                       {120.0 * s * 10.0 / (10.0 + ohm), 1e-3, 0.0, "by hand: R s (1 - s)"}))
        << s;
  }
}

/// A resistor and a capacitor from the line through a step start.
core::Rig step_rig(const char* resistance) {
  return rig_of(std::string("  SS1: {kind: step_start, nodes: [L, M], resistance: ") + resistance +
                ", delay: 0.0271 s, watts: 10 W}\n"
                "  D1: {kind: silicon_diode, type: 1N4007, nodes: {anode: M, cathode: O}}\n"
                "  C1: {kind: film_capacitor, nodes: [O, N], value: 100 uF, esr: 0.5 ohm}\n"
                "  R1: {kind: resistor, role: bleeder, nodes: [O, N], value: 2k, watts: 50 W}\n"
                "  R2: {kind: resistor, role: bleeder, nodes: [G, N], value: 1 ohm, watts: 1 W}\n");
}

sim::RigRun switched_on(const core::Rig& rig, netlists::StepRelay relay) {
  std::optional<sim::RigRun> run;
  with_engine([&](sim::Engine& engine) {
    netlists::Situation situation;
    situation.step_relay = relay;
    situation.closing_angle_deg = 20.0;
    sim::TransientPlan plan;
    plan.stop_s = 0.1;
    plan.steps_per_cycle = 1000;
    run.emplace(sim::run_transient(engine, rig, situation, plan));
  });
  return std::move(*run);
}

// Bridging a resistance that is nothing must change nothing: the two runs join in state and phase.
TEST(StepStart, JoinsItsTwoRunsWithoutAStep) {
  const core::Rig rig = step_rig("2 mohm");
  const auto timed = switched_on(rig, netlists::StepRelay::timed);
  const auto whole = switched_on(rig, netlists::StepRelay::open);
  const auto last = [&](const sim::RigRun& run) { return run.node_v(node_of(rig, "O")).back(); };
  EXPECT_NEAR(timed.time_s().back(), 0.1, 1e-9);
  EXPECT_NEAR(last(timed), last(whole), 0.2);
  EXPECT_NEAR(sim::mean_of({timed.time_s(), timed.node_v(node_of(rig, "O"))}),
              sim::mean_of({whole.time_s(), whole.node_v(node_of(rig, "O"))}), 0.2);
}

// With 20 ohm in the line its first peak is held to the line peak over 20 ohm (by hand); bridged at
// once it is several times that.
TEST(StepStart, HoldsTheFirstPeak) {
  const core::Rig rig = step_rig("20 ohm");
  const double peak_v = 120.0 * std::numbers::sqrt2;
  const auto peak_a = [](const sim::RigRun& run) { return sim::peak_magnitude_of(run.mains_a()); };
  EXPECT_LT(peak_a(switched_on(rig, netlists::StepRelay::open)), peak_v / 20.0);
  EXPECT_GT(peak_a(switched_on(rig, netlists::StepRelay::closed)), 3.0 * peak_v / 20.0);
}

}  // namespace
}  // namespace firstglow::published
