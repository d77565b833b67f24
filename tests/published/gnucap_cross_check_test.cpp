// The same decks through gnucap [GNUCAP], another engine: DC nodes within 0.5 %.
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/gnucap_process.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::CapacitorElement;
using netlists::Deck;
using netlists::DiodeElement;
using netlists::InductorElement;
using netlists::ResistorElement;
using netlists::SineSourceElement;

constexpr double kHertz = 60.0;
constexpr int kStepsPerCycle = 400;
constexpr double kStepSeconds = 1.0 / kHertz / 200.0;

int add_winding(Deck& deck, double peak_v, double ohm, double phase_deg) {
  const int source = deck.add_node();
  const int end = deck.add_node();
  deck.add(-1, SineSourceElement{source, 0, peak_v, kHertz, phase_deg});
  deck.add(-1, ResistorElement{source, end, ohm});
  return end;
}

/// The 1N4007 set [1N4007-SPICE] without its 26.5 pF: at start gnucap cannot always find its way
/// with them, and at 60 Hz they carry 10 nA a volt.
void add_diode(Deck& deck, int anode, int cathode) {
  deck.add(-1, DiodeElement{anode, cathode, 76.9e-12, 1.45, 0.042, 0.0});
}

/// gnucap does not come to an end with a choke behind bare diodes.
void add_damped_diode(Deck& deck, int anode, int cathode) {
  add_diode(deck, anode, cathode);
  const int middle = deck.add_node();
  deck.add(-1, ResistorElement{anode, middle, 10e3});
  deck.add(-1, CapacitorElement{middle, cathode, 10e-9});
}

/// Settled means by our engine against gnucap's after `settle_s`, from 90 % of the settled state,
/// so that gnucap has to find the last tenth by itself.
void expect_same_means(const Deck& deck, const std::vector<int>& nodes, double settle_s) {
  if (!gnucap_is_installed()) {
    GTEST_SKIP() << "gnucap is not installed";
  }
  Deck start = settled(deck, kHertz, kStepsPerCycle);
  const auto waves = settled_cycle(start, {kHertz, kStepsPerCycle, nodes, {}});
  auto state = netlists::start_state(start);
  for (double& value : state) {
    value *= 0.9;
  }
  netlists::set_start_state(start, state);
  const auto means = gnucap_means(start, {settle_s, kStepSeconds, 1.0 / kHertz, nodes});
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    SCOPED_TRACE(nodes[i]);
    const double ours_v = sim::mean_of({waves.time_s, waves.node_v[i]});
    EXPECT_GT(std::abs(ours_v), 1.0);
    EXPECT_TRUE(agrees(ours_v, {means[i], 5e-3, 0.0, "[GNUCAP] same deck"}));
  }
}

TEST(GnucapCrossCheck, FullWaveCapacitorInput) {
  Deck deck;
  const int output = deck.add_node();
  add_diode(deck, add_winding(deck, 162.6, 20.0, 0.0), output);
  add_diode(deck, add_winding(deck, 162.6, 20.0, 180.0), output);
  deck.add(-1, CapacitorElement{output, 0, 47e-6, 140.0});
  deck.add(-1, ResistorElement{output, 0, 2e3});
  expect_same_means(deck, {output}, 1.0);
}

TEST(GnucapCrossCheck, ChokeInput) {
  Deck deck;
  const int rectified = deck.add_node();
  const int middle = deck.add_node();
  const int output = deck.add_node();
  add_damped_diode(deck, add_winding(deck, 848.0, 45.0, 0.0), rectified);
  add_damped_diode(deck, add_winding(deck, 848.0, 45.0, 180.0), rectified);
  deck.add(-1, InductorElement{rectified, middle, 10.0, 0.1});
  deck.add(-1, ResistorElement{middle, output, 90.0});
  deck.add(-1, CapacitorElement{output, 0, 20e-6, 520.0});
  deck.add(-1, ResistorElement{output, 0, 5e3});
  expect_same_means(deck, {rectified, output}, 1.5);
}

TEST(GnucapCrossCheck, HalfWaveBias) {
  Deck deck;
  const int raw = deck.add_node();
  const int bias = deck.add_node();
  add_diode(deck, raw, add_winding(deck, 92.0, 138.0, 0.0));
  deck.add(-1, CapacitorElement{raw, 0, 22e-6, -80.0});
  deck.add(-1, ResistorElement{raw, bias, 2.2e3});
  deck.add(-1, CapacitorElement{bias, 0, 22e-6, -70.0});
  deck.add(-1, ResistorElement{bias, 0, 15e3});
  expect_same_means(deck, {raw, bias}, 3.0);
}

TEST(GnucapCrossCheck, Doubler) {
  Deck deck;
  const int plus = deck.add_node();
  const int minus = deck.add_node();
  const int end = add_winding(deck, 325.0, 30.0, 0.0);
  add_diode(deck, end, plus);
  add_diode(deck, minus, end);
  deck.add(-1, CapacitorElement{plus, 0, 47e-6, 300.0});
  deck.add(-1, CapacitorElement{0, minus, 47e-6, 300.0});
  deck.add(-1, ResistorElement{plus, minus, 6e3});
  expect_same_means(deck, {plus, minus}, 2.0);
}

// The whole demo supply as the deck builder makes it, with a snubber over every diode: gnucap does
// not come to an end without (nor should anybody believe an undamped choke).
void expect_demo_agrees(netlists::Stage stage, const std::vector<std::string>& names) {
  const core::Rig rig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  netlists::Situation situation;
  situation.stage = stage;
  netlists::BuiltDeck built = netlists::build_deck(rig, situation);
  const auto elements = built.deck.elements;
  for (const netlists::Element& element : elements) {
    if (const auto* diode = std::get_if<DiodeElement>(&element.data)) {
      const int middle = built.deck.add_node();
      built.deck.add(-1, ResistorElement{diode->anode, middle, 10e3});
      built.deck.add(-1, CapacitorElement{middle, diode->cathode, 2e-9});
    }
  }
  std::vector<int> nodes;
  for (const std::string& name : names) {
    for (std::size_t i = 0; i < rig.nodes.size(); ++i) {
      if (rig.nodes[i].name == name) {
        nodes.push_back(built.node_of.at(i).value());
      }
    }
  }
  ASSERT_EQ(nodes.size(), names.size());
  expect_same_means(built.deck, nodes, 2.5);
}

TEST(GnucapCrossCheck, DemoKeyDown) {
  expect_demo_agrees(netlists::Stage::key_down,
                     {"RECT", "B+", "MID", "BIAS_RAW", "BIAS", "SCREEN"});
}

TEST(GnucapCrossCheck, DemoTubesOut) {
  expect_demo_agrees(netlists::Stage::tubes_out, {"RECT", "B+", "MID", "BIAS_RAW", "BIAS"});
}

}  // namespace
}  // namespace firstglow::published
