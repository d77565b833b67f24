// Does every device model at once come up from cold, whatever the moment and the line?
//
// ctest runs eight draws; FIRSTGLOW_CONVERGENCE_RUNS=100 runs the full number (DEVELOPERS.md).
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <mutex>
#include <random>
#include <string>

#include "core/rig_reader.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

constexpr unsigned kSeed = 20260401;
constexpr std::size_t kShortCount = 8;

std::size_t draws() {
  const char* asked = std::getenv("FIRSTGLOW_CONVERGENCE_RUNS");
  return asked == nullptr ? kShortCount : static_cast<std::size_t>(std::max(1, std::atoi(asked)));
}

core::Rig rig() {
  return core::read_rig_file(std::string(FIRSTGLOW_SOURCE_DIR) + "/tests/studies/all_models.yaml");
}

/// A random moment: closing angle, line volts, remanence.
std::vector<netlists::Situation> random_moments(std::size_t count) {
  std::mt19937 random(kSeed);
  std::uniform_real_distribution<double> angle(0.0, 360.0);
  std::uniform_real_distribution<double> line(90.0, 140.0);
  std::uniform_real_distribution<double> remanence(-1.0, 1.0);
  std::vector<netlists::Situation> moments(count);
  for (netlists::Situation& moment : moments) {
    moment.closing_angle_deg = angle(random);
    moment.line = core::RmsVolts(line(random));
    moment.remanence = remanence(random);
    moment.core_model = netlists::CoreModel::saturating;
    moment.thermal = netlists::ThermalMode::moving;
    moment.step_relay = netlists::StepRelay::timed;
    moment.stage = netlists::Stage::key_down;
  }
  return moments;
}

std::size_t node_of(const core::Rig& rig, const std::string& name) {
  const auto found = std::find_if(rig.nodes.begin(), rig.nodes.end(),
                                  [&](const core::Node& node) { return node.name == name; });
  return static_cast<std::size_t>(found - rig.nodes.begin());
}

// Cold start in the deck itself: saturating core, thermistor, heaters and lamp laws moving, the
// step start bridged on the way. Volts must be there at the end and stay below the winding's peak
// twice over (the most a choke and its capacitor can make of it).
TEST(Convergence, EveryModelAtOnceStartsFromCold) {
  const core::Rig all = rig();
  const auto moments = random_moments(draws());
  WorkerPool pool({2, {}});
  std::mutex mutex;
  std::size_t good = 0;
  pool.for_each(moments.size(), [&](Engine& engine, std::size_t i) {
    TransientPlan plan;
    plan.stop_s = 0.4;
    std::string fault;
    try {
      const RigRun run = run_transient(engine, all, moments[i], plan);
      const auto& volts = run.node_v(static_cast<core::NodeIndex>(node_of(all, "B+")));
      const double top_v = *std::max_element(volts.begin(), volts.end());
      const double peak_v = std::sqrt(2.0) * 800.0 * moments[i].line->si() / 117.0;
      fault = top_v > 0.3 * peak_v && top_v < 2.0 * peak_v ? "" : "B+ out of reason";
    } catch (const std::exception& error) {
      fault = error.what();
    }
    const std::scoped_lock lock(mutex);
    good += fault.empty() ? 1U : 0U;
    EXPECT_EQ(fault, "") << "draw " << i << ": " << moments[i].closing_angle_deg << " deg, "
                         << moments[i].line->si() << " V";
  });
  EXPECT_EQ(good, moments.size());
}

// And the steady state of the same rig on the same lines, each found afresh.
TEST(Convergence, EveryModelAtOnceFindsItsSteadyState) {
  const core::Rig all = rig();
  const auto moments = random_moments(draws());
  WorkerPool pool({2, {}});
  std::mutex mutex;
  pool.for_each(moments.size(), [&](Engine& engine, std::size_t i) {
    netlists::Situation steady;
    steady.line = moments[i].line;
    std::string fault;
    try {
      SteadyRunner runner(engine, all);
      const SteadyRun run = runner.run(steady);
      const auto& volts = run.cycle.node_v(static_cast<core::NodeIndex>(node_of(all, "B+")));
      fault = mean_of({run.cycle.time_s(), volts}) > 300.0 ? "" : "B+ out of reason";
    } catch (const std::exception& error) {
      fault = error.what();
    }
    const std::scoped_lock lock(mutex);
    EXPECT_EQ(fault, "") << "draw " << i << ": " << moments[i].line->si() << " V";
  });
}

}  // namespace
}  // namespace firstglow::sim
