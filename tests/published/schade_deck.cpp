#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/schade_circuit.hpp"

namespace firstglow::published {
namespace {

using netlists::CapacitorElement;
using netlists::Deck;
using netlists::DeckNode;
using netlists::ResistorElement;
using netlists::SineSourceElement;

constexpr double kLoadOhm = 100e3;

/// A sine source against the chassis with its series resistance; the node behind both.
DeckNode add_leg(Deck& deck, double series_ohm, double phase_deg) {
  const DeckNode source = deck.add_node();
  const DeckNode leg = deck.add_node();
  deck.add(-1, SineSourceElement{source, 0, kSchadePeakV, kSchadeHertz, phase_deg});
  deck.add(-1, ResistorElement{source, leg, series_ohm});
  return leg;
}

double conduction_degrees(const sim::Waveforms& waves) {
  const auto& amps = waves.current_a[0];
  const double edge_a = 1e-6 * sim::highest_of(amps);
  double conducting_s = 0.0;
  for (std::size_t i = 1; i < amps.size(); ++i) {
    conducting_s += amps[i] > edge_a ? waves.time_s[i] - waves.time_s[i - 1] : 0.0;
  }
  return 360.0 * kSchadeHertz * conducting_s;
}

}  // namespace

SchadeDeck schade_deck(const SchadeCase& circuit) {
  const double series_ohm = circuit.rs_over_rl * kLoadOhm;
  const double farad = circuit.wcr / (2.0 * std::numbers::pi * kSchadeHertz * kLoadOhm);
  const double guess_v = 0.9 * kSchadePeakV * schade_limit(circuit.rectifier, circuit.rs_over_rl);
  SchadeDeck result;
  Deck& deck = result.deck;
  result.plus = deck.add_node();
  const DeckNode leg = add_leg(deck, series_ohm, 0.0);
  result.diode = deck.add(-1, near_ideal_diode(leg, result.plus));
  if (circuit.rectifier == Rectifier::doubler) {
    result.minus = deck.add_node();
    deck.add(-1, near_ideal_diode(result.minus, leg));
    deck.add(-1, CapacitorElement{result.plus, 0, farad, 0.5 * guess_v});
    deck.add(-1, CapacitorElement{0, result.minus, farad, 0.5 * guess_v});
  } else {
    if (circuit.rectifier == Rectifier::full_wave) {
      deck.add(-1, near_ideal_diode(add_leg(deck, series_ohm, 180.0), result.plus));
    }
    deck.add(-1, CapacitorElement{result.plus, 0, farad, guess_v});
  }
  deck.add(-1, ResistorElement{result.plus, result.minus, kLoadOhm});
  return result;
}

SchadeFigures schade_by_engine(const SchadeCase& circuit) {
  const SchadeDeck built = schade_deck(circuit);
  const CyclePlan plan{kSchadeHertz, 400, {built.plus, built.minus}, {built.diode}};
  const sim::Waveforms waves = settled_cycle(built.deck, plan);
  const auto output = sim::difference_of(waves.node_v[0], waves.node_v[1]);
  const sim::SampledView volts{waves.time_s, output};
  const sim::SampledView amps{waves.time_s, waves.current_a[0]};
  SchadeFigures figures;
  figures.mean = sim::mean_of(volts) / kSchadePeakV;
  figures.ripple_percent = 100.0 * sim::ac_rms_of(volts) / sim::mean_of(volts);
  figures.swing = (sim::highest_of(output) - sim::lowest_of(output)) / kSchadePeakV;
  figures.peak_over_mean_a = sim::highest_of(amps.value) / sim::mean_of(amps);
  figures.rms_over_mean_a = sim::rms_of(amps) / sim::mean_of(amps);
  figures.conduction_deg = conduction_degrees(waves);
  return figures;
}

}  // namespace firstglow::published
