#include "sim/engine/worker_pool.hpp"

#include <algorithm>
#include <condition_variable>
#include <exception>
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

constexpr int kMostWorkers = 8;

int worker_count(int wanted) {
  FIRSTGLOW_REQUIRE(wanted >= 0, "the number of workers is 0 or more");
  if (wanted > 0) {
    return wanted;
  }
  const auto cores = static_cast<int>(std::thread::hardware_concurrency());
  return std::clamp(cores, 1, kMostWorkers);
}

thread_local bool inside_job = false;

}  // namespace

/// One thread per worker. A worker process dies with the thread that started it, so the threads
/// live as long as the pool; they are started by the first for_each().
struct WorkerPool::Impl {
  explicit Impl(std::size_t remembered_bytes) : memory(remembered_bytes) {}

  int size = 1;
  std::string program;
  RunMemory memory;
  std::vector<std::thread> threads;
  std::mutex callers;  // one for_each() at a time

  std::mutex mutex;
  std::condition_variable work_changed;
  std::condition_variable all_done;
  bool closing = false;
  const std::function<void(Engine&, std::size_t)>* job = nullptr;
  std::size_t count = 0;
  std::size_t next = 0;
  std::size_t running = 0;
  std::size_t failed_index = 0;
  std::exception_ptr failure;

  void serve();
  bool take(std::size_t& index);
  void finish(std::size_t index, std::exception_ptr thrown);
  void run(std::size_t jobs, const std::function<void(Engine&, std::size_t)>& function);
  void close();
};

/// Waits for the next index; false when the pool closes.
bool WorkerPool::Impl::take(std::size_t& index) {
  std::unique_lock lock(mutex);
  work_changed.wait(lock, [this] { return closing || (job != nullptr && next < count); });
  if (closing) {
    return false;
  }
  index = next++;
  ++running;
  return true;
}

void WorkerPool::Impl::finish(std::size_t index, std::exception_ptr thrown) {
  const std::lock_guard lock(mutex);
  --running;
  if (thrown && (!failure || index < failed_index)) {
    failure = std::move(thrown);
    failed_index = index;
  }
  if (cancel_requested()) {
    next = count;
  }
  if (next >= count && running == 0) {
    all_done.notify_all();
  }
}

void WorkerPool::Impl::serve() {
  WorkerEngine engine(program);
  RememberingEngine remembering(engine, memory);
  inside_job = true;
  std::size_t index = 0;
  while (take(index)) {
    std::exception_ptr thrown;
    try {
      if (cancel_requested()) {
        throw Cancelled();
      }
      (*job)(remembering, index);
    } catch (...) {
      thrown = std::current_exception();
    }
    if (cancel_requested()) {
      engine.stop();
    }
    finish(index, std::move(thrown));
  }
}

void WorkerPool::Impl::run(std::size_t jobs,
                           const std::function<void(Engine&, std::size_t)>& function) {
  const std::lock_guard one_caller(callers);
  std::unique_lock lock(mutex);
  job = &function;
  count = jobs;
  next = running = 0;
  failure = nullptr;
  const std::size_t wanted = std::min(static_cast<std::size_t>(size), jobs);
  while (threads.size() < wanted) {
    threads.emplace_back([this] { serve(); });
  }
  work_changed.notify_all();
  all_done.wait(lock, [this] { return next >= count && running == 0; });
  job = nullptr;
  const std::exception_ptr thrown = std::exchange(failure, nullptr);
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

int WorkerPool::size() const { return impl_->size; }

void WorkerPool::for_each(std::size_t count, const std::function<void(Engine&, std::size_t)>& job) {
  FIRSTGLOW_REQUIRE(!inside_job, "a job of a worker pool does not start jobs itself");
  if (count > 0) {
    impl_->run(count, job);
  }
}

}  // namespace firstglow::sim
