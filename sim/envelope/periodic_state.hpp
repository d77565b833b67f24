#pragma once
/// @file
/// Which state repeats itself every mains cycle?
///
/// The steady readings of a supply are those of its periodic state. Waiting for it directly takes
/// hundreds of cycles; here it is found as the root of
///
///     F(z) = cycle(z) - z = 0,
///
/// where z holds every capacitor voltage and inductor current at the start of a cycle and the
/// logarithm of every warm resistance (lamp, heaters, thermistors; fluxes stand for the currents
/// of chokes that swing), and cycle() is one mains cycle run by the
/// engine, followed by setting each warm resistance to what its mean power would keep.
/// Newton's method with a Jacobian by finite differences, then Broyden's updates.
///
/// Left out: warm resistances are taken as constant within a cycle (thermal times are many
/// cycles; docs/methods/lamp_and_heater.md gives the ripple this leaves out).
/// Source: shooting method, e.g. Aprille and Trick, Proc. IEEE 60 (1972) 108 [APRILLE-1972].

#include <memory>
#include <variant>
#include <vector>

#include "netlists/deck.hpp"
#include "netlists/thermistor.hpp"
#include "netlists/tungsten.hpp"
#include "sim/engine/engine.hpp"

namespace firstglow::sim {

/// A deck resistor whose ohms follow its own mean power.
struct WarmResistor {
  netlists::ElementIndex element = -1;  ///< a ResistorElement
  std::variant<netlists::TungstenParameters, netlists::ThermistorParameters> law;
};

struct PeriodicProblem {
  netlists::Deck deck;
  std::vector<WarmResistor> warm;
  double period_s = 0.0;
  int steps_per_cycle = 200;
  /// 0: the accuracy of PeriodicSolver. Else the answer is the first point whose own cycle was run
  /// and that lies within so many times that accuracy; no last step is taken from there.
  double slack = 0.0;
  /// Kept of every run that may be the answer's, for a caller who reads that cycle and has a
  /// memory of runs (sim/engine/run_memory.hpp).
  std::vector<netlists::DeckNode> read_nodes = {};
  std::vector<netlists::ElementIndex> read_currents = {};
};

/// A point to start from, and the answer: circuit state and warm ohms.
struct PeriodicPoint {
  std::vector<double> state;     ///< as netlists::state_elements(deck)
  std::vector<double> warm_ohm;  ///< as PeriodicProblem::warm
};

/// Keeps the Jacobian from one solve to the next, so that a ladder of similar problems costs
/// 3 to 6 cycle runs a rung. One solver per worker and per chain of problems of equal size.
class PeriodicSolver {
 public:
  explicit PeriodicSolver(Engine& engine);
  ~PeriodicSolver();
  PeriodicSolver(const PeriodicSolver&) = delete;
  PeriodicSolver& operator=(const PeriodicSolver&) = delete;

  /// Accuracy: last Newton step below 1e-4 of the largest voltage (1e-3 of the largest current
  /// or flux and of each warm resistance). Where a mode takes thousands of cycles the noise of one
  /// cycle hides it: then the map is taken over 24 cycles, and a last step of ten times that is
  /// accepted (0.1 % of the largest voltage).
  /// @param guess  start; empty vectors mean zero state and the deck's own ohms.
  /// @throws SimulationError when a run fails or no periodic state is found.
  [[nodiscard]] PeriodicPoint solve(const PeriodicProblem& problem, const PeriodicPoint& guess);

  /// Takes over another solver's Jacobian, or that it has none.
  void start_from(const PeriodicSolver& other);

  /// Cycle runs spent so far.
  [[nodiscard]] int cycle_runs() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// The problem's deck with the point put in: start values and warm ohms.
[[nodiscard]] netlists::Deck deck_at(const PeriodicProblem& problem, const PeriodicPoint& point);

}  // namespace firstglow::sim
