#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "sim/engine/run_memory.hpp"
#include "tests/sim/engine_fixture.hpp"

namespace firstglow::sim::testing {
namespace {

/// Gives as many numbers as were asked for, and counts.
class CountingEngine : public Engine {
 public:
  int runs = 0;
  Waveforms run(const netlists::Deck& /*deck*/, const RunSpec& spec) override {
    ++runs;
    Waveforms waves;
    waves.time_s = {0.0, spec.stop_s};
    for (const netlists::DeckNode node : spec.nodes) {
      waves.node_v.push_back({0.0, 10.0 * node});
    }
    for (const netlists::ElementIndex element : spec.currents) {
      waves.current_a.push_back({0.0, 0.5 * element});
    }
    waves.final_state = {1.0 * runs};
    return waves;
  }
};

constexpr std::size_t kPlenty = 1000000;

TEST(RunMemory, MakesTheSameRunOnce) {
  CountingEngine counting;
  RunMemory memory(kPlenty);
  RememberingEngine engine(counting, memory);
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  const Waveforms first = engine.run(r.deck, spec);
  EXPECT_TRUE(same_bits(engine.run(r.deck, spec), first));
  EXPECT_EQ(counting.runs, 1);
}

TEST(RunMemory, TakesEveryFigureOfDeckAndSpecAsAnotherRun) {
  CountingEngine counting;
  RunMemory memory(kPlenty);
  RememberingEngine engine(counting, memory);
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  (void)engine.run(r.deck, spec);
  netlists::Deck charged = r.deck;
  std::vector<double> state = netlists::start_state(charged);
  state.front() += 1e-9;
  netlists::set_start_state(charged, state);
  (void)engine.run(charged, spec);
  std::vector<RunSpec> specs(4, spec);
  specs[0].stop_s *= 1.5;
  specs[1].max_step_s *= 0.5;
  specs[2].save_from_s = 0.5 * spec.stop_s;
  specs[3].accuracy = Accuracy::fine;
  for (const RunSpec& other : specs) {
    (void)engine.run(r.deck, other);
  }
  EXPECT_EQ(counting.runs, 6);
}

// The first run kept one node and no current: it answers for less of that, never for more.
TEST(RunMemory, AnswersForFewerNodesInAnotherOrderButNotForMore) {
  CountingEngine counting;
  RunMemory memory(kPlenty);
  RememberingEngine engine(counting, memory);
  const SmallRectifier r = small_rectifier();
  RunSpec spec = four_cycles(r);
  spec.nodes = {1, 2};
  spec.currents = {};
  (void)engine.run(r.deck, spec);
  spec.nodes = {2, 1};
  const Waveforms turned = engine.run(r.deck, spec);
  EXPECT_EQ(turned.node_v.at(0).back(), 20.0);
  EXPECT_EQ(turned.node_v.at(1).back(), 10.0);
  spec.nodes = {2};
  EXPECT_EQ(engine.run(r.deck, spec).node_v.size(), 1U);
  EXPECT_EQ(counting.runs, 1);
  spec.currents = {r.load};
  EXPECT_EQ(engine.run(r.deck, spec).current_a.size(), 1U);
  EXPECT_EQ(counting.runs, 2);
}

// Room for a hundred answers of one size.
TEST(RunMemory, ForgetsTheLeastRecentlyUsedAndStaysWithinItsBytes) {
  CountingEngine counting;
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  RunMemory one(kPlenty);
  (void)RememberingEngine(counting, one).run(r.deck, spec);
  const std::size_t room = 100 * one.bytes() + one.bytes() / 2;
  RunMemory memory(room);
  RememberingEngine engine(counting, memory);
  const auto runs_for = [&](int which) {
    RunSpec other = spec;
    other.stop_s *= 1.0 + 0.01 * which;
    const int before = counting.runs;
    (void)engine.run(r.deck, other);
    EXPECT_LE(memory.bytes(), room);
    return counting.runs - before;
  };
  for (int which = 0; which < 100; ++which) {
    EXPECT_EQ(runs_for(which), 1);
  }
  EXPECT_EQ(runs_for(0), 0);  // used again: 1 is the oldest now
  EXPECT_EQ(runs_for(100), 1);
  EXPECT_EQ(runs_for(0), 0);
  EXPECT_EQ(runs_for(1), 1);
}

TEST(RunMemory, DoesNotKeepAnAnswerOverAHundredthOfItsRoom) {
  CountingEngine counting;
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  RunMemory one(kPlenty);
  (void)RememberingEngine(counting, one).run(r.deck, spec);
  RunMemory memory(99 * one.bytes());
  RememberingEngine engine(counting, memory);
  (void)engine.run(r.deck, spec);
  EXPECT_EQ(memory.bytes(), 0U);
}

TEST(RunMemory, KeepsNothingWithoutRoom) {
  CountingEngine counting;
  RunMemory memory(0);
  RememberingEngine engine(counting, memory);
  const SmallRectifier r = small_rectifier();
  (void)engine.run(r.deck, four_cycles(r));
  (void)engine.run(r.deck, four_cycles(r));
  EXPECT_EQ(counting.runs, 2);
  EXPECT_EQ(memory.bytes(), 0U);
}

// Through a pool, on real runs: as without memory, from every worker.
TEST(RunMemory, ChangesNoBitOfAPoolsAnswers) {
  const SmallRectifier r = small_rectifier();
  const RunSpec spec = four_cycles(r);
  const Waveforms alone = run_once(r.deck, spec);
  WorkerPool pool(PoolOptions{2, {}, kPlenty});
  std::vector<char> same(12, 0);
  pool.for_each(same.size(), [&](Engine& engine, std::size_t i) {
    same[i] = same_bits(engine.run(r.deck, spec), alone) ? 1 : 0;
  });
  EXPECT_EQ(std::count(same.begin(), same.end(), 1), 12);
}

}  // namespace
}  // namespace firstglow::sim::testing
