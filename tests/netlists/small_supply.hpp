#pragma once
/// @file
/// A small supply to try things on, and a look into built decks.

#include <string>
#include <vector>

#include "netlists/deck_builder.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::test {

template <class Kind>
std::vector<Kind> all_of_kind(const netlists::Deck& deck) {
  std::vector<Kind> found;
  for (const netlists::Element& element : deck.elements) {
    if (const auto* data = std::get_if<Kind>(&element.data)) {
      found.push_back(*data);
    }
  }
  return found;
}

template <class Kind>
Kind current_element(const core::Rig& rig, const netlists::BuiltDeck& built,
                     const std::string& name) {
  const auto index = built.current_of(part_index(rig, name));
  return std::get<Kind>(built.deck.elements.at(static_cast<std::size_t>(index.value())).data);
}

/// 120 V 60 Hz, fuse, 117 V : 2 x 300 V transformer, full wave, 10 uF, bleeder.
inline RigMaker small_supply() {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).fuse("F1", "LINE", "PRI");
  maker.transformer("T1", maker.winding("primary", {"PRI", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("plate", {"HV1", "0", "HV2"}, {300.0, 300.0}, {60.0, 62.0}),
                     maker.winding("heater", {"H1", "0"}, {6.5}, {0.05})},
                    0.1, 5.0);
  maker.diode("D1", "HV1", "B+", 2).diode("D2", "HV2", "B+", 2);
  maker.capacitor("C1", "B+", "0", 10e-6)
      .resistor("R1", "B+", "0", 50e3, core::ResistorRole::bleeder, 0.1);
  return maker;
}

}  // namespace firstglow::test
