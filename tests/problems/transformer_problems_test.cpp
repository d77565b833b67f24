// Transformer questions of the textbook, from a record file through the deck builder to the meters.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

constexpr double kHertz = 60.0;
constexpr double kLineV = 120.0;

/// A transformer with hardly any core loss (0.5 mA no-load), 2 ohm primary, and the given rest.
core::Rig rig_with(const std::string& secondaries, const std::string& loads) {
  const std::string text =
      "firstglow: 1\nname: problem\nchassis: G\nparts:\n"
      "  P1: {kind: mains_inlet, nodes: {line: L, neutral: N}, nominal: 120 V, low: 110 V,"
      " high: 127 V, frequency: 60 Hz, source_resistance: 0.001 ohm}\n"
      "  T1:\n    kind: power_transformer\n"
      "    primary: {nodes: [L, N], volts: 120 V, ohms: 2 ohm}\n"
      "    secondaries:\n" +
      secondaries + "    no_load_current: 0.5 mA\n    no_load_watts: 0.03 W\n" + loads;
  return core::read_rig_text(text, "problem.yaml");
}

/// One settled cycle of the rig: rms volts of nodes, rms amps of the mains and watts taken.
class Meters {
 public:
  explicit Meters(const core::Rig& rig) : rig_(rig) {
    netlists::Situation situation;
    situation.stage = netlists::Stage::key_down;
    built_ = netlists::build_deck(rig, situation);
    CyclePlan plan{kHertz, 1000, {built_.mains_a, built_.mains_b}, {built_.mains_source}};
    for (const auto& node : built_.node_of) {
      plan.nodes.push_back(node.value_or(0));
    }
    waves_ = settled_cycle(built_.deck, plan);
  }
  [[nodiscard]] double rms_v(const std::string& node) const {
    return sim::rms_of({waves_.time_s, wave(node)});
  }
  [[nodiscard]] double rms_between_v(const std::string& a, const std::string& b) const {
    const auto difference = sim::difference_of(wave(a), wave(b));
    return sim::rms_of({waves_.time_s, difference});
  }
  [[nodiscard]] double mains_a() const { return sim::rms_of({waves_.time_s, waves_.current_a[0]}); }
  [[nodiscard]] double mains_w() const {
    const auto volts = sim::difference_of(waves_.node_v[0], waves_.node_v[1]);
    return -sim::mean_product_of(waves_.time_s, volts, waves_.current_a[0]);
  }

 private:
  [[nodiscard]] const std::vector<double>& wave(const std::string& node) const {
    for (std::size_t i = 0; i < rig_.nodes.size(); ++i) {
      if (rig_.nodes[i].name == node) {
        return waves_.node_v.at(i + 2);
      }
    }
    throw core::ContractError("no node " + node);
  }
  const core::Rig& rig_;
  netlists::BuiltDeck built_;
  sim::Waveforms waves_;
};

std::string load(const std::string& name, const std::string& nodes, const std::string& ohms) {
  return "  " + name + ": {kind: resistor, role: bleeder, nodes: " + nodes + ", value: " + ohms +
         ", watts: 100 W}\n";
}

// 120 to 600 V, n = 5; copper referred to the secondary 50 + 25 x 2 = 100 ohm; 2400 ohm load.
TEST(TransformerProblems, LoadedVoltsFallByTheReferredCopper) {
  const core::Rig rig = rig_with("      plate: {nodes: [S, G], volts: 600 V, ohms: 50 ohm}\n",
                                 load("R1", "[S, G]", "2.4k"));
  const Meters meters(rig);
  EXPECT_TRUE(agrees(meters.rms_v("S"),
                     {600.0 * 2400.0 / 2500.0, 1e-3, 0.0, "by hand: E n R / (R + R2 + n^2 R1)"}));
}

// The mains sees (2400 + 100) / 25 = 100 ohm: 1.2 A, 144 W.
TEST(TransformerProblems, PrimarySeesTheLoadOverTheSquareOfTheRatio) {
  const core::Rig rig = rig_with("      plate: {nodes: [S, G], volts: 600 V, ohms: 50 ohm}\n",
                                 load("R1", "[S, G]", "2.4k"));
  const Meters meters(rig);
  EXPECT_TRUE(agrees(kLineV / meters.mains_a(), {100.0, 1e-3, 0.0, "by hand: (R + R2)/n^2 + R1"}));
  EXPECT_TRUE(agrees(meters.mains_w(), {144.0, 1e-3, 0.0, "by hand: V^2 / 100 ohm"}));
}

// Two windings: the emf E obeys (120 - E)/2 = E (n1^2/(R1+r1) + n2^2/(R2+r2)).
TEST(TransformerProblems, TwoWindingsShareTheDropOfThePrimary) {
  const core::Rig rig = rig_with(
      "      plate: {nodes: [S, G], volts: 600 V, ohms: 50 ohm}\n"
      "      heater: {nodes: [H, G], volts: 6 V, ohms: 0.05 ohm}\n",
      load("R1", "[S, G]", "4k") + load("R2", "[H, G]", "1 ohm"));
  const double loads_s = 25.0 / 4050.0 + 0.0025 / 1.05;
  const double emf = kLineV / (1.0 + 2.0 * loads_s);
  const Meters meters(rig);
  EXPECT_TRUE(agrees(meters.rms_v("S"), {5.0 * emf * 4000.0 / 4050.0, 1e-3, 0.0, "by hand"}));
  EXPECT_TRUE(agrees(meters.rms_v("H"), {0.05 * emf / 1.05, 1e-3, 0.0, "by hand"}));
}

// Halves of a tapped winding stand in antiphase: end to end twice one half.
TEST(TransformerProblems, TappedWindingAddsEndToEnd) {
  const core::Rig rig =
      rig_with("      plate: {nodes: [S1, G, S2], volts: 2x300 V, ohms: [20 ohm, 20 ohm]}\n",
               load("R1", "[S1, S2]", "100k"));
  const Meters meters(rig);
  // 100 kohm end to end sees 40 ohm + 25 x 2 ohm of copper: 0.09 %.
  EXPECT_TRUE(
      agrees(meters.rms_between_v("S1", "S2"), {600.0 / 1.0009, 1e-3, 0.0, "by hand: 2 x 300 V"}));
  EXPECT_TRUE(agrees(meters.rms_v("S1"), {300.0 / 1.0009, 1e-3, 0.0, "by hand"}));
}

// Most power into the load when it equals the referred copper: half of the volts, by hand.
TEST(TransformerProblems, MatchedLoadTakesHalfTheVolts) {
  const core::Rig rig = rig_with("      plate: {nodes: [S, G], volts: 600 V, ohms: 50 ohm}\n",
                                 load("R1", "[S, G]", "100 ohm"));
  EXPECT_TRUE(agrees(Meters(rig).rms_v("S"), {300.0, 1e-3, 0.0, "by hand: E n / 2"}));
}

}  // namespace
}  // namespace firstglow::published
