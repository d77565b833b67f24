#pragma once
/// @file
/// Which resistances of a circuit follow their own warmth?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/situation.hpp"
#include "sim/envelope/periodic_state.hpp"

namespace firstglow::sim {

/// The warm resistances of a built deck, by name: "lamp" first, then heaters and thermistors by
/// designator, in the order of the rig.
struct WarmList {
  std::vector<WarmResistor> resistors;
  std::vector<std::string> names;
};

/// Of a deck built with ThermalMode::held.
[[nodiscard]] WarmList warm_resistors(const core::Rig& rig, const netlists::BuiltDeck& built,
                                      const netlists::Situation& situation);

}  // namespace firstglow::sim
