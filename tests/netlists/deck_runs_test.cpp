// Whole small rigs through the engine, against closed forms.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "netlists/tungsten.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::netlists {
namespace {

using test::Bench;
using test::RigMaker;

constexpr double kCycle = 1.0 / 60.0;

Situation at_stage(Stage stage) {
  Situation situation;
  situation.stage = stage;
  situation.closing_angle_deg = 90.0;
  return situation;
}

/// Mains, variac, a load on its output.
RigMaker variac_rig(double output_ohm) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.5);
  core::Variac variac;
  variac.input = maker.node("LINE");
  variac.output = maker.node("OUT");
  variac.common = maker.node("NEUTRAL");
  variac.output_resistance = core::Ohms(output_ohm);
  maker.part("VT1", variac);
  maker.load_ohms("LOAD", "OUT", "NEUTRAL", 100.0, core::DrawnWhen::always);
  return maker;
}

// Seen from the output: 0.5 * 120 V behind 1 ohm + 0.5^2 * 0.5 ohm; the mains sees half the amps.
TEST(DeckRuns, VariacTransformsVoltsAndAmps) {
  const RigMaker maker = variac_rig(1.0);
  Situation situation = at_stage(Stage::tubes_out);
  situation.variac_setting = 0.5;
  const Bench bench(maker.rig(), situation, 3 * kCycle);
  const double amps = 60.0 / (100.0 + 1.0 + 0.125);
  EXPECT_NEAR(bench.rms(bench.amps("LOAD"), kCycle), amps, 1e-3 * amps);
  EXPECT_NEAR(bench.rms(bench.amps("P1"), kCycle), 0.5 * amps, 1e-3 * amps);
}

// Common is common: nothing floats, at any setting.
TEST(DeckRuns, VariacDoesNotIsolate) {
  EXPECT_TRUE(build_deck(variac_rig(1.0).rig(), at_stage(Stage::tubes_out)).ties.empty());
}

// A short behind the lamp: the lamp takes the whole mains and settles at its rated amps.
TEST(DeckRuns, LampLimitsAShortToItsRatedCurrent) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.0);
  maker.resistor("SHORT", "LINE", "NEUTRAL", 0.01);
  Situation situation = at_stage(Stage::tubes_out);
  situation.lamp = LampInSeries{core::Watts(100.0), core::RmsVolts(120.0)};
  situation.thermal = ThermalMode::moving;
  const Bench bench(maker.rig(), situation, 1.0, kCycle / 100);
  EXPECT_NEAR(bench.rms(bench.amps("SHORT"), kCycle), 100.0 / 120.0, 0.02);
  const std::vector<double>& amps = bench.amps("SHORT");
  // Cold it lets through 169.7 V / 9.481 ohm = 17.9 A at the peak (by hand), less its first
  // warming.
  EXPECT_NEAR(*std::max_element(amps.begin(), amps.end()), 17.9, 0.1);
}

// Heater on its winding, moving: after 60 s of warming it draws what the held hot ohms draw.
TEST(DeckRuns, HeaterWarmsToItsRatedCurrent) {
  RigMaker maker;
  maker.mains(117.0, 60.0, 0.0);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {1.0}),
                    {maker.winding("heater", {"H1", "0"}, {6.3}, {1e-3})}, 0.1, 5.0);
  maker.heater("HTR", "H1", "0", 6.3, 0.82, 0.13);
  Situation situation = at_stage(Stage::heaters);
  situation.thermal = ThermalMode::moving;
  const Bench cold(maker.rig(), situation, 2 * kCycle);
  situation.heaters_hot = true;
  const Bench hot(maker.rig(), situation, 5 * kCycle);
  situation.thermal = ThermalMode::held;
  const Bench held(maker.rig(), situation, 5 * kCycle);
  const double hot_a = hot.rms(hot.amps("HTR"), kCycle);
  EXPECT_NEAR(hot_a, held.rms(held.amps("HTR"), kCycle), 0.02 * hot_a);
  EXPECT_GT(cold.rms(cold.amps("HTR"), kCycle), 4.0 * hot_a);
}

/// Stiff 120 V source, centre-tapped 2 x 500 V winding, two diodes to node RECT.
RigMaker full_wave() {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.0);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {120.0}, {0.1}),
                    {maker.winding("plate", {"HV1", "0", "HV2"}, {500.0, 500.0}, {5.0, 5.0})}, 0.05,
                    3.0);
  return maker.diode("D1", "HV1", "RECT").diode("D2", "HV2", "RECT");
}

// A meter on a full-wave rectifier with nothing behind it reads the mean, 2 Vpeak / pi.
TEST(DeckRuns, RectifierAloneReadsTheMeanOfTheSine) {
  const RigMaker maker = full_wave();
  const Bench bench(maker.rig(), at_stage(Stage::rectifier), 4 * kCycle);
  const double mean_v = 2.0 * 500.0 * std::numbers::sqrt2 / std::numbers::pi;
  EXPECT_NEAR(bench.mean(bench.volts("RECT"), kCycle), mean_v, 0.005 * mean_v);
}

// Choke input, current never zero: 2 Vpeak / pi less the drops of copper and diode.
TEST(DeckRuns, ChokeInputGivesTheMeanOfTheSine) {
  RigMaker maker = full_wave();
  maker.choke("L1", "RECT", "B+", 10.0, 100.0).capacitor("C1", "B+", "0", 20e-6);
  maker.resistor("R1", "B+", "0", 5e3, core::ResistorRole::bleeder);
  const Bench bench(maker.rig(), at_stage(Stage::filter), 1.5, kCycle / 200, 1.4);
  const double ideal_v = 2.0 * 500.0 * std::numbers::sqrt2 / std::numbers::pi - 0.7;
  const double drop_ohm = 100.0 + 5.0 + 0.1 * 2 * (500.0 / 120.0) * (500.0 / 120.0);
  const double expected_v = ideal_v * 5e3 / (5e3 + drop_ohm);
  EXPECT_NEAR(bench.mean(bench.volts("B+"), 2 * kCycle), expected_v, 0.005 * expected_v);
}

// Capacitor input without load: the capacitor meets the peak of the sine.
TEST(DeckRuns, CapacitorInputWithoutLoadChargesToThePeak) {
  RigMaker maker = full_wave();
  maker.capacitor("C1", "RECT", "0", 20e-6);
  const Bench bench(maker.rig(), at_stage(Stage::filter), 0.5);
  const double peak_v = 500.0 * std::numbers::sqrt2;
  EXPECT_NEAR(bench.mean(bench.volts("RECT"), kCycle), peak_v, 0.005 * peak_v);
}

// Two unequal capacitors without equalisers share a fast charge by capacitance: 20 uF on top of
// 10 uF takes one third.
TEST(DeckRuns, StackWithoutEqualisersSharesByCapacitance) {
  RigMaker maker = full_wave();
  maker.capacitor("C1", "RECT", "MID", 20e-6).capacitor("C2", "MID", "0", 10e-6);
  const Bench bench(maker.rig(), at_stage(Stage::filter), 0.1);
  EXPECT_NEAR(bench.volts("MID").back() / bench.volts("RECT").back(), 2.0 / 3.0, 1e-3);
}

// Unplugged and charged: the bleeder empties the capacitor by the exponential, with every
// winding and rectifier still connected.
TEST(DeckRuns, UnpluggedSupplyBleedsDownByTheExponential) {
  RigMaker maker = full_wave();
  maker.capacitor("C1", "RECT", "0", 20e-6);
  maker.resistor("R1", "RECT", "0", 50e3, core::ResistorRole::bleeder);
  Situation situation = at_stage(Stage::filter);
  situation.mains_on = false;
  BuiltDeck built = build_deck(maker.rig(), situation);
  for (Element& element : built.deck.elements) {
    if (auto* capacitor = std::get_if<CapacitorElement>(&element.data)) {
      capacitor->start_v = 600.0;
    }
  }
  sim::RunSpec spec;
  spec.stop_s = 2.0;
  spec.max_step_s = 0.01;
  spec.nodes = {*built.node_of[static_cast<std::size_t>(test::node_index(maker.rig(), "RECT"))]};
  sim::WorkerPool pool({1, {}});
  pool.for_each(1, [&](sim::Engine& engine, std::size_t) {
    const sim::Waveforms waves = engine.run(built.deck, spec);
    EXPECT_NEAR(waves.node_v[0].back(), 600.0 * std::exp(-2.0), 0.3);
  });
}

}  // namespace
}  // namespace firstglow::netlists
