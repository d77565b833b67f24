#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <csignal>
#include <limits>
#include <thread>

#include "sim/engine/cancel.hpp"
#include "sim/engine/run_failure.hpp"
#include "tests/sim/engine_fixture.hpp"

namespace firstglow::sim::testing {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::ThrowsMessage;

/// A run of a few tenths of a second.
RunSpec long_run(const SmallRectifier& rectifier) {
  RunSpec spec = four_cycles(rectifier);
  spec.stop_s = 1500 * kMainsCycleSeconds;
  spec.save_from_s = 1499 * kMainsCycleSeconds;
  return spec;
}

/// Sends a signal to the only child after it has worked for a while, `times` times.
std::thread disturb(int signal, int times, std::atomic<int>& sent) {
  return std::thread([=, &sent] {
    int last = -1;
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(20);
    while (sent < times && std::chrono::steady_clock::now() < end) {
      std::this_thread::sleep_for(std::chrono::milliseconds(60));
      const std::vector<int> children = child_processes();
      if (children.size() == 1 && children.front() != last) {
        last = children.front();
        sent += kill(last, signal) == 0 ? 1 : 0;
      }
    }
  });
}

Waveforms run_disturbed(const SmallRectifier& r, const RunSpec& spec, int signal, int times) {
  std::atomic<int> sent{0};
  std::thread thread = disturb(signal, times, sent);
  Waveforms result;
  try {
    result = run_once(r.deck, spec);
  } catch (...) {
    sent = times;
    thread.join();
    throw;
  }
  const int seen = sent.exchange(times);
  thread.join();
  EXPECT_EQ(seen, times) << "the run ended before it could be disturbed";
  return result;
}

TEST(EngineTrouble, KilledInMidRunGivesTheSameAnswer) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = long_run(r);
  const Waveforms undisturbed = run_once(r.deck, spec);
  EXPECT_TRUE(same_bits(run_disturbed(r, spec, SIGKILL, 1), undisturbed));
}

// Repeated as it was asked: kills change no figure.
TEST(EngineTrouble, KilledAgainAndAgainGivesTheSameAnswer) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = long_run(r);
  const Waveforms undisturbed = run_once(r.deck, spec);
  EXPECT_TRUE(same_bits(run_disturbed(r, spec, SIGKILL, 3), undisturbed));
}

TEST(EngineTrouble, KilledEveryTimeIsAnErrorNotAHang) {
  const SmallRectifier r = small_rectifier();
  EXPECT_THROW(run_disturbed(r, long_run(r), SIGKILL, 6), core::SimulationError);
  EXPECT_TRUE(child_processes().empty());
}

// A stopped process neither answers nor ends: the deadline ends it, the finer run answers.
TEST(EngineTrouble, StoppedWorkerIsEndedByTheDeadlineAndTheRunRepeated) {
  const SmallRectifier r = small_rectifier();
  RunSpec spec = long_run(r);
  const double undisturbed_v = run_once(r.deck, spec).final_state.at(0);
  spec.deadline_s = 8.0;
  const auto start = std::chrono::steady_clock::now();
  const Waveforms fine = run_disturbed(r, spec, SIGSTOP, 1);
  EXPECT_NEAR(fine.final_state.at(0), undisturbed_v, 1e-3 * undisturbed_v);
  EXPECT_GT(std::chrono::steady_clock::now() - start, std::chrono::seconds(7));
}

TEST(EngineTrouble, CrashIsRepeatedByTheFinerRun) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = long_run(r);
  EXPECT_GT(run_disturbed(r, spec, SIGSEGV, 1).final_state.at(0), 100.0);
}

TEST(EngineTrouble, RunLongerThanItsDeadlineIsAnError) {
  const SmallRectifier r = small_rectifier();
  RunSpec spec = long_run(r);
  spec.deadline_s = 0.05;
  EXPECT_THAT([&] { run_once(r.deck, spec); },
              ThrowsMessage<core::SimulationError>(HasSubstr("time allowed")));
}

/// Two unequal sources across one another (parts 5 and 6), a load (7) and a part elsewhere (8).
netlists::Deck clashing_sources() {
  netlists::Deck deck;
  const int top = deck.add_node();
  const int other = deck.add_node();
  deck.add(5, netlists::DcSourceElement{top, 0, 5.0});
  deck.add(6, netlists::DcSourceElement{top, 0, 6.0});
  deck.add(7, netlists::ResistorElement{top, 0, 1e3});
  deck.add(8, netlists::ResistorElement{other, 0, 1e3});
  return deck;
}

TEST(EngineTrouble, FailureNamesThePartsAtTheFailingPlace) {
  RunSpec spec;
  spec.stop_s = 0.01;
  spec.max_step_s = 1e-4;
  spec.nodes = {1};
  try {
    run_once(clashing_sources(), spec);
    FAIL() << "two sources across one another gave a result";
  } catch (const core::SimulationError& error) {
    EXPECT_THAT(error.what(), HasSubstr("no verdict"));
    ASSERT_FALSE(error.detail().part_indices.empty());
    for (const int part : error.detail().part_indices) {
      EXPECT_TRUE(part >= 5 && part <= 7) << part;
    }
    EXPECT_FALSE(error.detail().solver_lines.empty());
    const core::SimulationError named =
        with_part_names(error, [](int part) { return "P" + std::to_string(part); });
    EXPECT_THAT(named.what(), HasSubstr("'P"));
    EXPECT_EQ(named.detail().part, "P" + std::to_string(error.detail().part_indices.front()));
  }
}

TEST(EngineTrouble, PartsOfAFailingNodeAreThoseThatEndThere) {
  const netlists::Deck deck = clashing_sources();
  RunFailure failure;
  failure.node = 1;
  EXPECT_THAT(parts_at_failure(deck, failure), ElementsAre(5, 6, 7));
  failure.node = -1;
  failure.element = 3;
  EXPECT_THAT(parts_at_failure(deck, failure), ElementsAre(8));
}

// A failing run leaves nothing behind that changes the next one.
TEST(EngineTrouble, RunAfterAFailureIsRight) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  const Waveforms alone = run_once(r.deck, spec);
  RunSpec bad = spec;
  bad.currents = {};
  bad.nodes = {1};
  WorkerPool pool({1, {}});
  Waveforms after;
  pool.for_each(2, [&](Engine& engine, std::size_t i) {
    if (i == 0) {
      EXPECT_THROW((void)engine.run(clashing_sources(), bad), core::SimulationError);
    } else {
      after = engine.run(r.deck, spec);
    }
  });
  EXPECT_TRUE(same_bits(after, alone));
}

TEST(EngineTrouble, GarbageIsRefusedBeforeAnyWorkerSeesIt) {
  const SmallRectifier good = small_rectifier();
  const RunSpec spec = four_cycles(good);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  std::vector<netlists::Deck> decks(5, good.deck);
  decks[0].add(0, netlists::ResistorElement{1, 0, -5.0});
  decks[1].add(0, netlists::ResistorElement{1, 99, 5.0});
  decks[2].add(0, netlists::CapacitorElement{1, 0, nan, 0.0});
  decks[3].add(0, netlists::CurrentMirrorElement{1, 2, 1.0});
  decks[4].add(0, netlists::DcSourceElement{1, 0, std::numeric_limits<double>::infinity()});
  for (const netlists::Deck& deck : decks) {
    EXPECT_THROW(run_once(deck, spec), core::ContractError);
  }
  std::vector<RunSpec> specs(7, spec);
  specs[0].stop_s = 0.0;
  specs[1].max_step_s = nan;
  specs[2].save_from_s = spec.stop_s;
  specs[3].nodes = {77};
  specs[4].currents = {-1};
  specs[5].deadline_s = 0.0;
  specs[6].stop_s = 1e9;  // terabytes of points
  for (const RunSpec& one : specs) {
    EXPECT_THROW(run_once(good.deck, one), core::ContractError);
  }
}

TEST(EngineTrouble, MissingWorkerProgramIsSaidWithTheWayOut) {
  const SmallRectifier r = small_rectifier();
  const auto run_with = [&](const char* program) {
    WorkerPool pool({1, program});
    pool.for_each(1,
                  [&](Engine& engine, std::size_t) { (void)engine.run(r.deck, four_cycles(r)); });
  };
  EXPECT_THAT([&] { run_with("/nonexistent/worker"); },
              ThrowsMessage<core::SimulationError>(HasSubstr("FIRSTGLOW_WORKER")));
  // A program that is no worker.
  EXPECT_THAT([&] { run_with("/bin/true"); },
              ThrowsMessage<core::SimulationError>(HasSubstr("/bin/true")));
  EXPECT_THAT([&] { run_with("/bin/echo"); }, ThrowsMessage<core::SimulationError>(HasSubstr("")));
}

TEST(EngineTrouble, CancelEndsAStudySoonAndLeavesNoProcess) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = long_run(r);
  std::atomic<int> started{0};
  const auto start = std::chrono::steady_clock::now();
  WorkerPool pool({2, {}});
  std::thread interrupt([] {
    std::this_thread::sleep_for(std::chrono::milliseconds(150));
    request_cancel();
  });
  EXPECT_THROW(pool.for_each(500,
                             [&](Engine& engine, std::size_t) {
                               ++started;
                               (void)engine.run(r.deck, spec);
                             }),
               Cancelled);
  interrupt.join();
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(3));
  EXPECT_LT(started, 100);
  EXPECT_TRUE(child_processes().empty());
  clear_cancel();
  // The pool is still usable.
  pool.for_each(1, [&](Engine& engine, std::size_t) { (void)engine.run(r.deck, four_cycles(r)); });
}

}  // namespace
}  // namespace firstglow::sim::testing
