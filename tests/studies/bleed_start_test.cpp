// The starts of a discharge are found in coarser steps than readings: how far off does that leave
// them?
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/engine/run_memory.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed_islands.hpp"
#include "sim/studies/bleed_moments.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/start_outcome.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

core::Rig scenario(const std::string& name) {
  return core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/" + name + "/rig.yaml");
}

/// The last stage of a rig without its tubes.
Stage cold_stage(const core::Rig& rig) {
  const std::vector<Stage> stages = netlists::stages_of(rig);
  return *std::find_if(stages.rbegin(), stages.rend(),
                       [](Stage stage) { return stage <= Stage::tubes_out; });
}

Situation at_high_line(const core::Rig& rig, Stage stage) {
  Situation situation;
  situation.stage = stage;
  situation.line = rig.mains().high;
  situation.closing_angle_deg = 135.0;
  return situation;
}

/// Largest difference between peaks of the same capacitors, as a part of the second.
double largest_share(const std::map<int, double>& peaks, const std::map<int, double>& others) {
  double largest = 0.0;
  for (const auto& [part, volts] : others) {
    largest = std::max(largest, std::abs(peaks.at(part) / volts - 1.0));
  }
  return largest;
}

class StartSteps : public ::testing::TestWithParam<const char*> {};

// Against 400 steps a cycle. The finest steps are no truth, but differ from 200 by a quarter of
// this.
TEST_P(StartSteps, SwitchOnIsNearTheOneInFineSteps) {
  const core::Rig rig = scenario(GetParam());
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    const auto peaks = [&](int steps) {
      TransientPlan plan;
      plan.stop_s = 0.12;
      plan.steps_per_cycle = steps;
      plan.with_currents = false;
      plan.capacitors_only = true;
      return peaks_of(
          moments_of(rig, run_transient(engine, rig, at_high_line(rig, cold_stage(rig)), plan)));
    };
    EXPECT_LT(largest_share(peaks(kStartSteps), peaks(400)), kStartError);
  });
}

// Against the search that readings are taken from: volts and the duty of bleeders.
TEST_P(StartSteps, SteadyStateIsNearTheExactOne) {
  const core::Rig rig = scenario(GetParam());
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    for (const Stage stage : {Stage::filter, cold_stage(rig)}) {
      SteadyRunner quick(engine, rig, kStartEffort), exact(engine, rig);
      const SteadyRun found = quick.run(at_high_line(rig, stage));
      const SteadyRun wanted = exact.run(at_high_line(rig, stage));
      const double volts = largest_share(peaks_of(moments_of(rig, found.cycle)),
                                         peaks_of(moments_of(rig, wanted.cycle)));
      EXPECT_LT(volts, kStartError);
      EXPECT_GT(volts, 0.0);  // two different searches
      const std::map<int, BleederDuty> duty = duties_of(rig, found.cycle);
      for (const auto& [part, exact_duty] : duties_of(rig, wanted.cycle)) {
        EXPECT_NEAR(duty.at(part).watts / exact_duty.watts, 1.0, 2.0 * kStartError);
      }
    }
  });
}

INSTANTIATE_TEST_SUITE_P(Scenarios, StartSteps,
                         ::testing::Values("wrenfield-75", "harrowgate-300", "larkmoor-120",
                                           "pinfold-30"),
                         [](const auto& scenario_of) {
                           std::string name = scenario_of.param;
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

class CountingEngine : public Engine {
 public:
  explicit CountingEngine(Engine& engine) : engine_(engine) {}
  Waveforms run(const netlists::Deck& deck, const RunSpec& spec) override {
    ++runs;
    return engine_.run(deck, spec);
  }
  int runs = 0;

 private:
  Engine& engine_;
};

// With slack the cycle that is read is one that the search has run.
TEST(StartEffort, CycleThatIsReadWasRunBefore) {
  const core::Rig rig = scenario("wrenfield-75");
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    CountingEngine counting(engine);
    RunMemory memory(std::size_t{16} << 20);
    RememberingEngine remembering(counting, memory);
    const Situation situation = at_high_line(rig, Stage::tubes_out);
    SteadyRunner runner(remembering, rig, kStartEffort);
    const SteadyRun first = runner.run(situation);
    const int runs = counting.runs;
    EXPECT_GT(runs, 5);
    SteadyRunner again(remembering, rig, kStartEffort);
    again.start_from(runner);
    EXPECT_EQ(again.run(situation).point.state, first.point.state);
    EXPECT_EQ(counting.runs, runs);
  });
}

void expect_same(const std::vector<LinearBranch>& a, const std::vector<LinearBranch>& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    EXPECT_EQ(a[i].a, b[i].a);
    EXPECT_EQ(a[i].b, b[i].b);
    EXPECT_EQ(a[i].part, b[i].part);
    EXPECT_EQ(a[i].value, b[i].value) << i;
  }
}

// Put together from networks with one part off, against a deck built for the corner.
TEST(CornerNetworks, AreThoseOfADeckBuiltForTheCorner) {
  std::mt19937 random(3);
  for (const char* name : {"wrenfield-75", "tolland-75", "saltmarsh-kw", "tarrant-pair"}) {
    const core::Rig rig = scenario(name);
    const std::vector<ChargeMoment> none;
    const std::vector<BleedLimit> limits = bleed_limits(volts_limit(50.0));
    const BleedCircuit circuit{rig, none, none, limits};
    const std::vector<std::string> parts = toleranced_parts(rig, Stage::tubes_out);
    for (int i = 0; i < 20; ++i) {
      Situation situation;
      situation.stage = Stage::tubes_out;
      situation.mains_on = false;
      situation.lifted = {parts[random() % parts.size()]};
      for (const std::string& part : parts) {
        if (random() % 2 == 0) {
          situation.corner[part] = random() % 2 == 0 ? 1.0 : -1.0;
        }
      }
      const LinearNetwork built = linear_network(netlists::build_deck(rig, situation));
      const LinearNetwork made = network_at_corner(circuit, situation.lifted, situation.corner);
      expect_same(made.resistors, built.resistors);
      expect_same(made.capacitors, built.capacitors);
      expect_same(made.inductors, built.inductors);
    }
  }
}

}  // namespace
}  // namespace firstglow::sim
