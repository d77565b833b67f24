#pragma once
/// @file
/// One worker for the tests of this folder, and a settled mains cycle of any deck.

#include <functional>
#include <vector>

#include "netlists/deck.hpp"
#include "sim/engine/engine.hpp"

namespace firstglow::published {

/// Lends the one engine of these tests.
void with_engine(const std::function<void(sim::Engine&)>& work);

/// Runs a deck as it is.
[[nodiscard]] sim::Waveforms run(const netlists::Deck& deck, const sim::RunSpec& spec);

/// What to look at in a settled cycle.
struct CyclePlan {
  double hertz = 60.0;
  int steps_per_cycle = 400;
  std::vector<netlists::DeckNode> nodes;
  std::vector<netlists::ElementIndex> currents;
};

/// The state that repeats itself every cycle, starting the search at the deck's own start values.
[[nodiscard]] netlists::Deck settled(const netlists::Deck& deck, double hertz, int steps_per_cycle);
/// One cycle from there. Decks without any state are run for two cycles; the second is given.
[[nodiscard]] sim::Waveforms settled_cycle(const netlists::Deck& deck, const CyclePlan& plan);

/// A rectifier whose drop is lost in kilovolts: 0.05 V at 0.1 A.
[[nodiscard]] netlists::DiodeElement near_ideal_diode(netlists::DeckNode anode,
                                                      netlists::DeckNode cathode);

}  // namespace firstglow::published
