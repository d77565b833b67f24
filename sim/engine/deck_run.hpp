#pragma once
/// @file
/// One attempt at one job inside the worker: deck to text, solver, vectors to waveforms.

#include "sim/engine/ngspice_session.hpp"
#include "sim/engine/run_outcome.hpp"

namespace firstglow::sim {

struct DeckRun {
  RunOutcome outcome;
  bool fatal = false;  ///< the process must end after telling the outcome
};

/// Accuracy::fine means gear integration and half the step; the others damped trapezoidal.
/// The result begins exactly at save_from_s when that is above 0, else at the solver's first
/// point, which lies at most a hundredth of max_step_s after 0.
/// @throws ContractError when deck or request are out of range.
[[nodiscard]] DeckRun run_deck(NgspiceSession& session, const RunJob& job);

}  // namespace firstglow::sim
