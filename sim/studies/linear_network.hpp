#pragma once
/// @file
/// What is left of a supply once its rectifiers have stopped? Resistors, capacitors, inductors.

#include <vector>

#include "netlists/deck_builder.hpp"

namespace firstglow::sim {

/// A two-pole between network nodes; node 0 is the chassis.
struct LinearBranch {
  int a = 0, b = 0;
  double value = 0.0;  ///< ohm, farad or henry, > 0
  int part = -1;       ///< index into Rig::parts, -1 when it belongs to none
};

struct LinearDiode {
  int anode = 0, cathode = 0;
  int part = -1;
};

struct LinearNetwork {
  int node_count = 1;  ///< nodes are 0 .. node_count - 1
  std::vector<LinearBranch> resistors, capacitors, inductors;
  std::vector<LinearDiode> diodes;  ///< all open; kept so that this can be proved
  std::vector<int> node_of;         ///< network node by deck node; -1 when dropped
};

/// Model: resistors, capacitors and inductors of the deck stay. Ammeters and the emf of windings
/// are shorts (the energy of the core is gone within milliseconds); what sits on a core's own
/// node is dropped.
/// Left out on the safe side: ties, leakage of capacitors, meters of the deck and current loads,
/// all of which could only speed a discharge up.
///
/// @throws ContractError when the deck has a sine source, or moving tungsten.
[[nodiscard]] LinearNetwork linear_network(const netlists::BuiltDeck& built);

/// Network nodes in the same island as each node: joined by resistors, inductors and, when
/// `through_capacitors`, capacitors. The chassis joins islands only when `through_chassis`.
[[nodiscard]] std::vector<int> islands_of(const LinearNetwork& network, bool through_capacitors,
                                          bool through_chassis);

}  // namespace firstglow::sim
