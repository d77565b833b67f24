#pragma once
/// @file
/// Run one deck: waveforms or a SimulationError, never a partial truth.

#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::sim {

/// How hard the solver tries; `fine` is the retry setting (gear, half the step).
enum class Accuracy { preview, normal, fine };

struct RunSpec {
  double stop_s = 0.0;                    ///< > 0
  double max_step_s = 0.0;                ///< > 0; one mains cycle / 200 when rectifiers work
  double save_from_s = 0.0;               ///< points before this time are not kept; < stop_s
  std::vector<netlists::DeckNode> nodes;  ///< whose voltages to keep
  std::vector<netlists::ElementIndex> currents;  ///< whose currents to keep
  Accuracy accuracy = Accuracy::normal;
  double deadline_s = 30.0;  ///< wall clock allowed for one attempt
};

/// Result on the solver's own time points (not evenly spaced); every value is finite.
struct Waveforms {
  std::vector<double> time_s;
  std::vector<std::vector<double>> node_v;     ///< as RunSpec::nodes (node 0 gives zeros)
  std::vector<std::vector<double>> current_a;  ///< as RunSpec::currents, a -> b
  std::vector<double> final_state;             ///< as netlists::state_elements(deck)
};

class Engine {
 public:
  virtual ~Engine() = default;
  /// @throws SimulationError when no trustworthy result was had after one retry with finer
  ///         settings; its detail names nodes by part index through the deck, see run_failure().
  [[nodiscard]] virtual Waveforms run(const netlists::Deck& deck, const RunSpec& spec) = 0;
};

}  // namespace firstglow::sim
