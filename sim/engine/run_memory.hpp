#pragma once
/// @file
/// Was this run made before in this command?

#include <cstddef>
#include <memory>
#include <optional>

#include "sim/engine/engine.hpp"

namespace firstglow::sim {

/// Waveforms of runs by deck and spec, the least recently used forgotten first; none that would
/// take more than a hundredth of the memory. A run gives the
/// same bits each time (tests/sim/engine_pool_test.cpp), so an answer from here is the answer.
/// May be used by several threads at once.
class RunMemory {
 public:
  /// @param most_bytes  What is kept at most, questions and answers together; 0 keeps nothing.
  explicit RunMemory(std::size_t most_bytes);
  ~RunMemory();
  RunMemory(const RunMemory&) = delete;
  RunMemory& operator=(const RunMemory&) = delete;

  /// The answer to this run, or to one that kept these nodes and currents among others.
  [[nodiscard]] std::optional<Waveforms> find(const netlists::Deck& deck, const RunSpec& spec);
  void keep(const netlists::Deck& deck, const RunSpec& spec, const Waveforms& waves);

  [[nodiscard]] std::size_t bytes() const;  ///< kept at the moment

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// Asks the memory before the engine. Failures are not remembered.
class RememberingEngine : public Engine {
 public:
  RememberingEngine(Engine& engine, RunMemory& memory) : engine_(engine), memory_(memory) {}
  [[nodiscard]] Waveforms run(const netlists::Deck& deck, const RunSpec& spec) override;

 private:
  Engine& engine_;
  RunMemory& memory_;
};

}  // namespace firstglow::sim
