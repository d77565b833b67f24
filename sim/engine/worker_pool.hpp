#pragma once
/// @file
/// Persistent worker processes, and how a study spreads its jobs over them.

#include <cstddef>
#include <functional>
#include <memory>
#include <string>

#include "sim/engine/engine.hpp"

namespace firstglow::sim {

struct PoolOptions {
  int workers = 0;             ///< 0: one per core, at most 8
  std::string worker_program;  ///< empty: environment FIRSTGLOW_WORKER, else beside this program
  std::size_t remembered_bytes = 0;  ///< of runs made before (sim/engine/run_memory.hpp)
};

class WorkerPool {
 public:
  explicit WorkerPool(const PoolOptions& options = {});
  ~WorkerPool();
  WorkerPool(const WorkerPool&) = delete;
  WorkerPool& operator=(const WorkerPool&) = delete;

  [[nodiscard]] int size() const;

  /// Calls job(engine, i) once for each i in [0, count), several at a time, each call on a worker
  /// of its own. Returns when all are done; then rethrows the exception of the lowest i that
  /// threw, if any. Results must not depend on which worker ran what. Not from inside a job.
  /// Several threads may call it at once: jobs of the first go first.
  /// @throws Cancelled (sim/engine/cancel.hpp) soon after request_cancel(); the rest is not run.
  void for_each(std::size_t count, const std::function<void(Engine&, std::size_t)>& job);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace firstglow::sim
