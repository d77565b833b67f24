#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <future>
#include <iterator>
#include <stdexcept>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "tests/sim/engine_fixture.hpp"

namespace firstglow::sim::testing {
namespace {

using ::testing::ContainsRegex;
using ::testing::HasSubstr;

/// Rectifiers that differ in their load.
SmallRectifier variant(std::size_t i) {
  SmallRectifier r = small_rectifier();
  std::get<netlists::ResistorElement>(r.deck.elements[static_cast<std::size_t>(r.load)].data).ohm =
      500.0 + 100.0 * static_cast<double>(i);
  return r;
}

TEST(WorkerPool, ResultsDoNotDependOnTheNumberOfWorkers) {
  constexpr std::size_t kJobs = 40;
  std::vector<Waveforms> first;
  for (const int workers : {1, 2, 4}) {
    WorkerPool pool({workers, {}});
    EXPECT_EQ(pool.size(), workers);
    std::vector<Waveforms> results(kJobs);
    pool.for_each(kJobs, [&](Engine& engine, std::size_t i) {
      const SmallRectifier r = variant(i);
      results[i] = engine.run(r.deck, four_cycles(r));
    });
    if (first.empty()) {
      first = results;
    }
    for (std::size_t i = 0; i < kJobs; ++i) {
      EXPECT_TRUE(same_bits(results[i], first[i])) << workers << " workers, job " << i;
    }
  }
  EXPECT_FALSE(same_bits(first[0], first[1]));
}

TEST(WorkerPool, TwoThousandRunsAreBitIdentical) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  const Waveforms first = run_once(r.deck, spec);
  WorkerPool pool({2, {}});
  std::vector<char> same(2000, 0);
  pool.for_each(same.size(), [&](Engine& engine, std::size_t i) {
    same[i] = same_bits(engine.run(r.deck, spec), first) ? 1 : 0;
  });
  EXPECT_EQ(std::count(same.begin(), same.end(), 1), 2000);
}

// 500 runs after a warm-up of 50 may cost the worker 1 MB; one forgotten plot per run would
// cost it 17 MB.
TEST(WorkerPool, MemoryOfTheWorkerStaysLevel) {
#ifdef __SANITIZE_ADDRESS__
  GTEST_SKIP() << "the sanitizer keeps freed memory for a while";
#endif
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  WorkerPool pool({1, {}});
  const auto run = [&](Engine& engine, std::size_t) { (void)engine.run(r.deck, spec); };
  pool.for_each(50, run);
  const std::vector<int> children = child_processes();
  ASSERT_EQ(children.size(), 1U);
  const std::size_t before = resident_bytes(children.front());
  ASSERT_GT(before, std::size_t{1} << 20);
  pool.for_each(500, run);
  EXPECT_EQ(child_processes(), children);
  EXPECT_LT(resident_bytes(children.front()), before + (std::size_t{1} << 20));
}

TEST(WorkerPool, StartsNothingUntilAskedAndLeavesNoProcess) {
  {
    WorkerPool pool({2, {}});
    pool.for_each(0, [](Engine&, std::size_t) { FAIL(); });
    EXPECT_TRUE(child_processes().empty());
    const SmallRectifier r = small_rectifier();
    pool.for_each(8,
                  [&](Engine& engine, std::size_t) { (void)engine.run(r.deck, four_cycles(r)); });
    EXPECT_EQ(child_processes().size(), 2U);
  }
  EXPECT_TRUE(child_processes().empty());
}

// Other programs use the folder too, so one quiet moment out of many tries is asked for.
TEST(WorkerPool, MakesNoTemporaryFile) {
  const SmallRectifier r = small_rectifier();
  bool unchanged = false;
  for (int attempt = 0; attempt < 50 && !unchanged; ++attempt) {
    const std::vector<std::string> before = temporary_files();
    (void)run_once(r.deck, four_cycles(r));
    unchanged = temporary_files() == before;
  }
  EXPECT_TRUE(unchanged);
}

std::string text_of(const std::string& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(WorkerPool, WorkerIsLockedDown) {
  const SmallRectifier r = small_rectifier();
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) { (void)engine.run(r.deck, four_cycles(r)); });
  ASSERT_EQ(child_processes().size(), 1U);
  const std::string proc = "/proc/" + std::to_string(child_processes().front());
  EXPECT_THAT(text_of(proc + "/status"), HasSubstr("Seccomp:\t2"));
  EXPECT_THAT(text_of(proc + "/limits"), ContainsRegex("Max open files +0 +0 "));
  EXPECT_THAT(text_of(proc + "/limits"), ContainsRegex("Max core file size +0 +0 "));
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& file : std::filesystem::directory_iterator(proc + "/fd")) {
    ++files;
  }
  EXPECT_EQ(files, 4U);  // three standard ones, the socket
}

TEST(WorkerPool, RunsEveryJobOnceAndRethrowsTheLowestFailure) {
  WorkerPool pool({2, {}});
  std::vector<std::atomic<int>> calls(30);
  try {
    pool.for_each(calls.size(), [&](Engine&, std::size_t i) {
      ++calls[i];
      if (i == 7 || i == 20) {
        throw std::out_of_range(std::to_string(i));
      }
    });
    FAIL() << "no exception came through";
  } catch (const std::out_of_range& error) {
    EXPECT_STREQ(error.what(), "7");
  }
  for (const std::atomic<int>& count : calls) {
    EXPECT_EQ(count, 1);
  }
  // The failure is told once.
  pool.for_each(3, [](Engine&, std::size_t) {});
}

/// Each of several callers gets its own jobs, each once, and its own failure.
TEST(WorkerPool, ServesSeveralCallersAtOnce) {
  WorkerPool pool({2, {}});
  constexpr std::size_t kCallers = 6, kJobs = 25;
  std::vector<std::vector<std::atomic<int>>> calls(kCallers);
  std::vector<std::future<void>> callers;
  for (std::size_t caller = 0; caller < kCallers; ++caller) {
    calls[caller] = std::vector<std::atomic<int>>(kJobs);
    callers.push_back(std::async(std::launch::async, [&, caller] {
      pool.for_each(kJobs, [&](Engine&, std::size_t i) {
        ++calls[caller][i];
        if (caller == 3 && i >= 11) {
          throw std::out_of_range(std::to_string(i));
        }
      });
    }));
  }
  for (std::size_t caller = 0; caller < kCallers; ++caller) {
    try {
      callers[caller].get();
      EXPECT_NE(caller, 3U);
    } catch (const std::out_of_range& error) {
      EXPECT_EQ(caller, 3U);
      EXPECT_STREQ(error.what(), "11");
    }
    for (const std::atomic<int>& count : calls[caller]) {
      EXPECT_EQ(count, 1) << "caller " << caller;
    }
  }
}

TEST(WorkerPool, RefusesJobsInsideAJob) {
  WorkerPool pool({1, {}});
  EXPECT_THROW(pool.for_each(
                   1, [&](Engine&, std::size_t) { pool.for_each(1, [](Engine&, std::size_t) {}); }),
               core::ContractError);
}

}  // namespace
}  // namespace firstglow::sim::testing
