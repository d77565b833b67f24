#pragma once
/// @file
/// What came out of one attempt to run a deck: waveforms, or why there are none?

#include <string>
#include <variant>
#include <vector>

#include "sim/engine/engine.hpp"

namespace firstglow::sim {

/// One attempt failed; nothing it may have computed is kept.
struct RunFailure {
  std::string message;                    ///< what went wrong, complete alone
  double reached_s = 0.0;                 ///< simulated time reached [s]
  std::vector<std::string> solver_lines;  ///< last lines the solver printed
  netlists::DeckNode node = -1;           ///< node the solver named, -1 when none
  netlists::ElementIndex element = -1;    ///< element the solver named, -1 when none
};

using RunOutcome = std::variant<Waveforms, RunFailure>;

/// One attempt as the worker gets it.
struct RunJob {
  netlists::Deck deck;
  RunSpec spec;
};

/// @throws ContractError when a time, node or element index of the request is out of range, or
///         the result would not fit in about 1 GB.
void check_run_spec(const netlists::Deck& deck, const RunSpec& spec);

/// Parts (indices into Rig::parts, ascending, none twice) at the node or element that failed.
[[nodiscard]] std::vector<int> parts_at_failure(const netlists::Deck& deck,
                                                const RunFailure& failure);

}  // namespace firstglow::sim
