#include "sim/engine/worker_pool.hpp"

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <list>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "core/error.hpp"
#include "sim/engine/cancel.hpp"
#include "sim/engine/run_memory.hpp"
#include "sim/engine/worker_engine.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kMostWorkers = 8;

std::size_t worker_count(int wanted) {
  FIRSTGLOW_REQUIRE(wanted >= 0, "the number of workers is 0 or more");
  if (wanted > 0) {
    return static_cast<std::size_t>(wanted);
  }
  const auto cores = static_cast<std::size_t>(std::thread::hardware_concurrency());
  return std::clamp<std::size_t>(cores, 1, kMostWorkers);
}

thread_local bool inside_job = false;

}  // namespace

/// The jobs of one for_each().
struct Batch {
  const std::function<void(Engine&, std::size_t)>& job;
  std::size_t count = 0;
  std::size_t next = 0;
  std::size_t running = 0;
  std::size_t failed_index = 0;
  std::exception_ptr failure = nullptr;

  [[nodiscard]] bool waits() const { return next < count; }
  [[nodiscard]] bool done() const { return next >= count && running == 0; }
};

/// One thread per worker. A worker process dies with the thread that started it, so the threads
/// live as long as the pool; they are started by the first for_each(). Several threads may call
/// for_each(): the jobs of the first come first, and those of the next fill what it leaves idle.
struct WorkerPool::Impl {
  explicit Impl(std::size_t remembered_bytes) : memory(remembered_bytes) {}

  std::size_t size = 1;
  std::string program;
  RunMemory memory;
  std::vector<std::thread> threads;

  std::mutex mutex;
  std::condition_variable work_changed;
  std::condition_variable some_done;
  bool closing = false;
  std::list<Batch> batches;

  void serve();
  Batch* take(std::size_t& index);
  void finish(Batch& batch, std::size_t index, std::exception_ptr thrown);
  void run(std::size_t jobs, const std::function<void(Engine&, std::size_t)>& function);
  void start_threads();
  void close();
};

/// Waits for the next index; no batch when the pool closes.
Batch* WorkerPool::Impl::take(std::size_t& index) {
  std::unique_lock lock(mutex);
  const auto waiting = [this] {
    return std::find_if(batches.begin(), batches.end(),
                        [](const Batch& batch) { return batch.waits(); });
  };
  work_changed.wait(lock, [&] { return closing || waiting() != batches.end(); });
  if (closing) {
    return nullptr;
  }
  const auto batch = waiting();
  index = batch->next++;
  ++batch->running;
  return &*batch;
}

void WorkerPool::Impl::finish(Batch& batch, std::size_t index, std::exception_ptr thrown) {
  const std::lock_guard lock(mutex);
  --batch.running;
  if (thrown && (!batch.failure || index < batch.failed_index)) {
    batch.failure = std::move(thrown);
    batch.failed_index = index;
  }
  if (cancel_requested()) {
    batch.next = batch.count;
  }
  if (batch.done()) {
    some_done.notify_all();
  }
}

void WorkerPool::Impl::serve() {
  WorkerEngine engine(program);
  RememberingEngine remembering(engine, memory);
  inside_job = true;
  std::size_t index = 0;
  while (Batch* batch = take(index)) {
    std::exception_ptr thrown;
    try {
      if (cancel_requested()) {
        throw Cancelled();
      }
      batch->job(remembering, index);
    } catch (...) {
      thrown = std::current_exception();
    }
    if (cancel_requested()) {
      engine.stop();
    }
    finish(*batch, index, std::move(thrown));
  }
}

/// As many as there is work for now; called with the mutex held.
void WorkerPool::Impl::start_threads() {
  std::size_t work = 0;
  for (const Batch& batch : batches) {
    work += batch.count - batch.next + batch.running;
  }
  while (threads.size() < std::min(size, work)) {
    threads.emplace_back([this] { serve(); });
  }
}

void WorkerPool::Impl::run(std::size_t jobs,
                           const std::function<void(Engine&, std::size_t)>& function) {
  std::unique_lock lock(mutex);
  const auto batch = batches.insert(batches.end(), Batch{function, jobs});
  start_threads();
  work_changed.notify_all();
  some_done.wait(lock, [&] { return batch->done(); });
  const std::exception_ptr thrown = batch->failure;
  batches.erase(batch);
  lock.unlock();
  if (cancel_requested()) {
    throw Cancelled();
  }
  if (thrown) {
    std::rethrow_exception(thrown);
  }
}

void WorkerPool::Impl::close() {
  {
    const std::lock_guard lock(mutex);
    closing = true;
  }
  work_changed.notify_all();
  for (std::thread& thread : threads) {
    thread.join();
  }
}

WorkerPool::WorkerPool(const PoolOptions& options)
    : impl_(std::make_unique<Impl>(options.remembered_bytes)) {
  impl_->size = worker_count(options.workers);
  impl_->program = find_worker_program(options.worker_program);
}

WorkerPool::~WorkerPool() { impl_->close(); }

int WorkerPool::size() const { return static_cast<int>(impl_->size); }

void WorkerPool::for_each(std::size_t count, const std::function<void(Engine&, std::size_t)>& job) {
  FIRSTGLOW_REQUIRE(!inside_job, "a job of a worker pool does not start jobs itself");
  if (count > 0) {
    impl_->run(count, job);
  }
}

}  // namespace firstglow::sim
