#pragma once
/// @file
/// Engine on one worker process: attempts, retries, and when to take a fresh process.

#include "sim/engine/engine.hpp"
#include "sim/engine/run_outcome.hpp"
#include "sim/engine/worker_process.hpp"

namespace firstglow::sim {

/// Attempts, in order, until one gives waveforms:
///  1. as asked;
///  2. the same again, up to five times, only while the process is killed from outside (also
///     before it greets); the answer is then the same as without the kills;
///  3. after any other trouble, with Accuracy::fine (half the step again when fine was asked for).
class WorkerEngine : public Engine {
 public:
  explicit WorkerEngine(std::string program) : process_(std::move(program)) {}

  /// @throws ContractError, core::SimulationError, Cancelled
  [[nodiscard]] Waveforms run(const netlists::Deck& deck, const RunSpec& spec) override;

  void stop() { process_.stop(); }
  [[nodiscard]] const WorkerProcess& process() const { return process_; }

 private:
  struct Attempt {
    RunOutcome outcome;
    bool killed_from_outside = false;
  };
  [[nodiscard]] Attempt attempt(const RunJob& job);
  void recycle_when_worn();

  WorkerProcess process_;
};

/// Program of the worker: `wanted`, else environment FIRSTGLOW_WORKER, else `firstglow-worker`
/// in the directory of this program.
[[nodiscard]] std::string find_worker_program(const std::string& wanted);

}  // namespace firstglow::sim
