// Peak inverse volts of each rectifier circuit, by hand from its loop; [TERMAN] prints the first
// three.
#include <gtest/gtest.h>

#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/full_wave_source.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"
#include "tests/published/schade_circuit.hpp"

namespace firstglow::published {
namespace {

constexpr double kLightLoadOhm = 10e6;
constexpr double kFarad = 1e-6;

/// Largest reverse volts of every diode of a deck, over the source's peak, in a settled cycle.
std::vector<double> peak_inverse(const netlists::Deck& deck) {
  CyclePlan plan{kSourceHertz, 400, {}, {}};
  for (const netlists::Element& element : deck.elements) {
    if (const auto* diode = std::get_if<netlists::DiodeElement>(&element.data)) {
      plan.nodes.push_back(diode->cathode);
      plan.nodes.push_back(diode->anode);
    }
  }
  const auto waves = settled_cycle(deck, plan);
  std::vector<double> result;
  for (std::size_t i = 0; i < plan.nodes.size(); i += 2) {
    const auto reverse = sim::difference_of(waves.node_v[i], waves.node_v[i + 1]);
    result.push_back(sim::highest_of(reverse) / kSourcePeakV);
  }
  return result;
}

netlists::Deck with_capacitor(FullWaveSource source) {
  source.deck.add(-1, netlists::CapacitorElement{source.rectified, 0, kFarad, kSourcePeakV});
  source.deck.add(-1, netlists::ResistorElement{source.rectified, 0, kLightLoadOhm});
  return source.deck;
}

void expect_each(const netlists::Deck& deck, std::size_t diodes, const Published& reference) {
  const auto found = peak_inverse(deck);
  ASSERT_EQ(found.size(), diodes);
  for (const double inverse : found) {
    EXPECT_TRUE(agrees(inverse, reference));
  }
}

TEST(PeakInverse, HalfWaveCapacitorInputIsTwicePeak) {
  expect_each(with_capacitor(half_wave_source()), 1,
              Published{2.0, 2e-3, 0.0, "[TERMAN] half wave, capacitor input: 2 Vm"});
}

TEST(PeakInverse, HalfWaveIntoResistorIsOncePeak) {
  FullWaveSource source = half_wave_source();
  source.deck.add(-1, netlists::ResistorElement{source.rectified, 0, 100e3});
  expect_each(source.deck, 1, Published{1.0, 2e-3, 0.0, "by hand: the source alone"});
}

TEST(PeakInverse, CentreTapIsTwicePeakOfOneHalf) {
  expect_each(with_capacitor(full_wave_source()), 2,
              Published{2.0, 2e-3, 0.0, "[TERMAN] centre tap: 2 Vm, Vm of one half"});
}

// [RCA-TT3]: Einv = 2.83 Erms of each leg = 3.14 Eav, with choke input (Eav = 2 Vm / pi).
TEST(PeakInverse, CentreTapHasTheHandbookRatios) {
  const double inverse = peak_inverse(with_capacitor(full_wave_source())).at(0);
  EXPECT_TRUE(agrees(inverse * std::numbers::sqrt2,
                     Published{2.83, 0.0, 7e-3, "[RCA-TT3] rectifier table, 2 sqrt 2"}));
  EXPECT_TRUE(agrees(inverse * std::numbers::pi / 2.0,
                     Published{3.14, 0.0, 7e-3, "[RCA-TT3] rectifier table, pi"}));
}

TEST(PeakInverse, BridgeIsOncePeak) {
  expect_each(with_capacitor(bridge_source()), 4, Published{1.0, 2e-3, 0.0, "[TERMAN] bridge: Vm"});
}

TEST(PeakInverse, DoublerIsTwicePeakEach) {
  const SchadeDeck doubler = schade_deck({Rectifier::doubler, 1e4, 1e-6});
  expect_each(doubler.deck, 2,
              Published{2.0, 2e-3, 0.0, "by hand: either diode sees both capacitors; wCR 1e4"});
}

// Cascade form: C1 in series with the source, D1 clamps, D2 charges C2 to 2 Vm.
TEST(PeakInverse, CascadeDoublerIsTwicePeakEach) {
  netlists::Deck deck;
  const int source = deck.add_node();
  const int joint = deck.add_node();
  const int output = deck.add_node();
  deck.add(-1, netlists::SineSourceElement{source, 0, kSourcePeakV, kSourceHertz, 0.0});
  deck.add(-1, netlists::CapacitorElement{joint, source, kFarad, kSourcePeakV});
  deck.add(-1, near_ideal_diode(0, joint));
  deck.add(-1, near_ideal_diode(joint, output));
  deck.add(-1, netlists::CapacitorElement{output, 0, kFarad, 2.0 * kSourcePeakV});
  deck.add(-1, netlists::ResistorElement{output, 0, 100.0 * kLightLoadOhm});
  expect_each(deck, 2,
              Published{2.0, 2e-3, 0.0, "by hand: C2 holds 2 Vm, the joint swings 0..2 Vm"});
}

}  // namespace
}  // namespace firstglow::published
