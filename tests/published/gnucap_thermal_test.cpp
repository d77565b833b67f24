// A cold start through a test lamp and a thermistor: our engine against gnucap [GNUCAP], which gets
// the equations of docs/methods/lamp_and_heater.md and mains_side.md written by hand.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "netlists/tungsten.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/gnucap_circuit.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

constexpr double kHertz = 60.0;
constexpr double kStopS = 0.5;
const double kPeakV = 120.0 * std::numbers::sqrt2;

// 100 W 120 V lamp: 144 ohm at 2800 K. Thermistor: 10 ohm at 25 C, B 3000 K, 20 mW a kelvin, and
// a heat capacity that lets it warm within the half second.
constexpr double kNtcOhm = 10.0, kNtcBeta = 3000.0, kNtcLoss = 0.02, kNtcHeat = 0.02;

struct Ends {
  double output_v, lamp_k, thermistor_k;
};

/// Sine, lamp, thermistor, a doubler of two 47 uF with 1 kohm across both.
Ends by_our_engine() {
  netlists::Deck deck;
  const int source = deck.add_node();
  const int middle = deck.add_node();
  const int end = deck.add_node();
  const int plus = deck.add_node();
  const int minus = deck.add_node();
  const auto lamp =
      netlists::tungsten_of(netlists::LampInSeries{core::Watts(100.0), core::RmsVolts(120.0)});
  deck.add(-1, netlists::SineSourceElement{source, 0, kPeakV, kHertz, 0.0});
  deck.add(-1, netlists::ThermalResistorElement{source, middle, lamp.cold_ohm,
                                                netlists::kTungstenExponent, lamp.hot_k, lamp.hot_w,
                                                lamp.heat_j_per_k});
  deck.add(-1, netlists::NtcElement{middle, end, kNtcOhm, kNtcBeta, kNtcLoss, kNtcHeat});
  deck.add(-1, netlists::DiodeElement{end, plus, 1e-9, 1.8, 0.04, 0.0});
  deck.add(-1, netlists::DiodeElement{minus, end, 1e-9, 1.8, 0.04, 0.0});
  deck.add(-1, netlists::CapacitorElement{plus, 0, 47e-6});
  deck.add(-1, netlists::CapacitorElement{0, minus, 47e-6});
  deck.add(-1, netlists::ResistorElement{plus, minus, 1e3});
  sim::RunSpec spec;
  spec.stop_s = kStopS;
  spec.save_from_s = kStopS - 1.0 / kHertz;
  spec.max_step_s = 1.0 / kHertz / 400.0;
  spec.nodes = {plus, minus};
  const sim::Waveforms waves = run(deck, spec);
  const auto output = sim::difference_of(waves.node_v[0], waves.node_v[1]);
  return {sim::mean_of({waves.time_s, output}), waves.final_state.at(0), waves.final_state.at(1)};
}

/// A resistance that follows its own temperature: node `name`K holds the kelvins as volts. Its
/// watts are a current: a conductance of so many siemens as it carries amperes, across its volts.
void add_warm(GnucapCircuit& circuit, const std::string& name, const std::string& a,
              const std::string& b, const FitPoints& siemens, const FitPoints& lost_w,
              double heat_j_per_k, double start_k) {
  const std::string kelvin = name + "K";
  circuit.direct_volts("m" + name, a, "m" + name, 0.0)
      .conductance_by_volts(name, "m" + name, b, kelvin, "0", siemens)
      .lines("H" + name + " i" + name + " 0 Vm" + name + " 1\n")
      .lines("E" + name + " v" + name + " 0 m" + name + " " + b + " 1\n")
      .direct_volts("w" + name, "v" + name, "w" + name, 0.0)
      .lines(".vcg Yw" + name + " w" + name + " 0 i" + name + " 0 1\n")
      .lines("F" + name + " 0 " + kelvin + " Vw" + name + " 1\n")
      .current_by_volts("w" + name, kelvin, "0", kelvin, "0", lost_w)
      .capacitor("w" + name, kelvin, "0", heat_j_per_k, start_k, 1e-6);
}

Ends by_gnucap() {
  constexpr double kExponent = 4.195;
  const double cold_ohm = 144.0 * std::pow(300.0 / 2800.0, 1.218);
  const auto power = [](double kelvin) { return std::pow(kelvin, kExponent); };
  GnucapCircuit circuit;
  circuit.lines("V1 s 0 sin( offset=0 amplitude=169.7056275 frequency=60 )\n");
  add_warm(
      circuit, "lamp", "s", "middle",
      even_points([=](double k) { return std::pow(k / 300.0, -1.218) / cold_ohm; }, 200, 3600, 340),
      even_points(
          [=](double k) {
            return 100.0 * (power(k) - power(300.0)) / (power(2800.0) - power(300.0));
          },
          200, 3600, 340),
      0.007, 300.0);
  add_warm(
      circuit, "ntc", "middle", "end",
      even_points([](double k) { return std::exp(-kNtcBeta * (1.0 / k - 1.0 / 298.15)) / kNtcOhm; },
                  250, 700, 225),
      even_points([](double k) { return kNtcLoss * (k - 298.15); }, 250, 700, 10), kNtcHeat,
      298.15);
  circuit.diode("1", "end", "plus", 1e-9, 1.8, 0.04)
      .diode("2", "minus", "end", 1e-9, 1.8, 0.04)
      .capacitor("1", "plus", "0", 47e-6, 0.0, 1e-6)
      .capacitor("2", "0", "minus", 47e-6, 0.0, 1e-6)
      .resistor("load", "plus", "minus", 1e3);
  // 200 steps a cycle are too few for gnucap while the capacitors charge: its lamp stays 8 % cooler
  // than with 800, beyond which nothing changes.
  const auto figures = circuit.figures({"plus", "minus", "lampK", "ntcK"}, kStopS, 800);
  return {figures[0].mean - figures[1].mean, figures[2].last, figures[3].last};
}

TEST(GnucapThermal, ColdStartThroughLampAndThermistor) {
  if (!gnucap_is_installed()) {
    GTEST_SKIP() << "gnucap is not installed";
  }
  const Ends ours = by_our_engine();
  const Ends theirs = by_gnucap();
  EXPECT_TRUE(agrees(ours.output_v, {theirs.output_v, 5e-3, 0.0, "[GNUCAP] written by hand"}));
  EXPECT_TRUE(agrees(ours.lamp_k, {theirs.lamp_k, 5e-3, 0.0, "[GNUCAP] written by hand"}));
  EXPECT_TRUE(
      agrees(ours.thermistor_k, {theirs.thermistor_k, 5e-3, 0.0, "[GNUCAP] written by hand"}));
  // both have warmed, or nothing was compared
  EXPECT_GT(ours.lamp_k, 600.0);
  EXPECT_GT(ours.thermistor_k, 320.0);
}

}  // namespace
}  // namespace firstglow::published
