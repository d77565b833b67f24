#pragma once
/// @file
/// Parts of a record as the deck builder makes them, on windings without any iron.

#include <cmath>
#include <string>
#include <vector>

#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/published/gnucap_circuit.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {

inline constexpr double kBenchHertz = 60.0;
inline constexpr int kBenchSteps = 400;

/// Put parts into `maker`, call build(), add the windings, then ask.
struct PartsOnABench {
  test::RigMaker maker;
  netlists::BuiltDeck built;

  PartsOnABench() { maker.mains(1.0, kBenchHertz, 0.1); }

  void build(const netlists::Situation& situation = {}) {
    built = netlists::build_deck(maker.rig(), situation);
  }
  netlists::DeckNode node(const std::string& name) {
    return name == "0" ? 0 : built.node_of.at(static_cast<std::size_t>(maker.node(name))).value();
  }
  /// A sine and its ohms; a negative peak turns it round.
  void winding(const std::string& low_end, const std::string& end, double peak_v, double ohm) {
    const netlists::DeckNode inner = built.deck.add_node();
    built.deck.add(-1, netlists::SineSourceElement{inner, node(low_end), std::abs(peak_v),
                                                   kBenchHertz, peak_v < 0.0 ? 180.0 : 0.0});
    built.deck.add(-1, netlists::ResistorElement{inner, node(end), ohm});
  }
  /// As GnucapCircuit::snubber().
  void snubber(const std::string& a, const std::string& b) {
    const netlists::DeckNode middle = built.deck.add_node();
    built.deck.add(-1, netlists::ResistorElement{node(a), middle, 10e3});
    built.deck.add(-1, netlists::CapacitorElement{middle, node(b), 2e-9});
  }
  /// The settled cycle, by our engine.
  std::vector<GnucapFigures> figures(const std::vector<std::string>& nodes) {
    CyclePlan plan{kBenchHertz, kBenchSteps, {}, {}};
    for (const std::string& name : nodes) {
      plan.nodes.push_back(node(name));
    }
    const sim::Waveforms waves = settled_cycle(built.deck, plan);
    std::vector<GnucapFigures> found;
    for (const std::vector<double>& volts : waves.node_v) {
      found.push_back(
          {sim::mean_of({waves.time_s, volts}), sim::lowest_of(volts), sim::highest_of(volts)});
    }
    return found;
  }
};

/// Tests that need gnucap are skipped without it.
class WithGnucap : public ::testing::Test {
 protected:
  void SetUp() override {
    if (!gnucap_is_installed()) {
      GTEST_SKIP() << "gnucap is not installed";
    }
  }
};

/// 0.5 % on every mean. gnucap has to find the last tenth by itself: its capacitors start at about
/// 90 % of the settled volts.
inline void expect_means_agree(PartsOnABench& ours, const GnucapCircuit& theirs,
                               const std::vector<std::string>& nodes, double settle_s) {
  const auto found = ours.figures(nodes);
  const auto wanted = theirs.figures(nodes, settle_s);
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    SCOPED_TRACE(nodes[i]);
    EXPECT_GT(std::abs(found[i].mean), 1.0);
    EXPECT_TRUE(agrees(found[i].mean, {wanted[i].mean, 5e-3, 0.0, "[GNUCAP] written by hand"}));
  }
}

}  // namespace firstglow::published
