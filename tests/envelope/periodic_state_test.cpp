#include "sim/envelope/periodic_state.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/rig_reader.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

WorkerPool& pool() {
  static WorkerPool one({1, {}});
  return one;
}

template <class Work>
void with_engine(Work work) {
  pool().for_each(1, [&](Engine& engine, std::size_t) { work(engine); });
}

/// Sine source, resistor and inductor: i(0) of the steady current is -I sin(phi), by hand from
/// i(t) = I sin(w t - phi), I = V / sqrt(R^2 + (w L)^2), tan phi = w L / R.
TEST(PeriodicState, FindsTheSteadyCurrentOfARlCircuit) {
  PeriodicProblem problem;
  const auto a = problem.deck.add_node();
  const auto b = problem.deck.add_node();
  problem.deck.add(-1, netlists::SineSourceElement{a, 0, 100.0, 60.0, 0.0});
  problem.deck.add(-1, netlists::ResistorElement{a, b, 10.0});
  problem.deck.add(-1, netlists::InductorElement{b, 0, 1.0});  // time constant 0.1 s, 6 cycles
  problem.period_s = 1.0 / 60.0;
  problem.steps_per_cycle = 400;
  const double reactance = 2.0 * std::numbers::pi * 60.0;
  const double expected =
      -100.0 / std::hypot(10.0, reactance) * std::sin(std::atan2(reactance, 10.0));
  with_engine([&](Engine& engine) {
    PeriodicSolver solver(engine);
    const PeriodicPoint point = solver.solve(problem, {});
    ASSERT_EQ(point.state.size(), 1U);
    EXPECT_NEAR(point.state[0], expected, 1e-3 * std::abs(expected));
    EXPECT_LT(solver.cycle_runs(), 20);
  });
}

/// A bank that is charged within one cycle seems to forget where it started, as a snubber does.
/// Told to start there, empty, the search must not take it for one. By hand, ideal diodes and no
/// ripple: cos t with tan t - t = pi / 2 x 250 / 50e3, half the angle of conduction: 0.9590 of the
/// peak.
TEST(PeriodicState, FindsTheSameStateFromAnEmptyBank) {
  PeriodicProblem problem;
  const auto output = problem.deck.add_node();
  for (const double phase_deg : {0.0, 180.0}) {
    const auto source = problem.deck.add_node();
    const auto plate = problem.deck.add_node();
    problem.deck.add(-1, netlists::SineSourceElement{source, 0, 1273.0, 60.0, phase_deg});
    problem.deck.add(-1, netlists::ResistorElement{source, plate, 250.0});
    problem.deck.add(-1, netlists::DiodeElement{plate, output, 1e-9, 1.8, 0.04, 0.0});
  }
  problem.deck.add(-1, netlists::CapacitorElement{output, 0, 8e-6, 0.0});
  problem.deck.add(-1, netlists::ResistorElement{output, 0, 50e3});
  problem.period_s = 1.0 / 60.0;
  problem.steps_per_cycle = 400;
  with_engine([&](Engine& engine) {
    for (const double start_v : {0.0, 100.0, 1200.0, 1600.0}) {
      PeriodicSolver solver(engine);
      EXPECT_NEAR(solver.solve(problem, {{start_v}, {}}).state[0], 0.959 * 1273.0, 4.0) << start_v;
    }
  });
}

/// A tungsten lamp straight across the mains settles where its own law says.
TEST(PeriodicState, WarmResistanceSettlesOnItsOwnLaw) {
  const netlists::LampInSeries lamp{core::Watts(100.0), core::RmsVolts(120.0)};
  PeriodicProblem problem;
  const auto a = problem.deck.add_node();
  const auto b = problem.deck.add_node();
  problem.deck.add(-1, netlists::SineSourceElement{a, 0, 60.0 * std::numbers::sqrt2, 60.0, 0.0});
  const auto element = problem.deck.add(-1, netlists::ResistorElement{a, b, 10.0});
  problem.deck.add(-1, netlists::ResistorElement{b, 0, 0.001});
  problem.warm.push_back({element, netlists::tungsten_of(lamp)});
  problem.period_s = 1.0 / 60.0;
  const double expected = netlists::equilibrium_ohm_at_volts(
      std::get<netlists::TungstenParameters>(problem.warm[0].law), 60.0);
  with_engine([&](Engine& engine) {
    PeriodicSolver solver(engine);
    const PeriodicPoint point = solver.solve(problem, {});
    EXPECT_NEAR(point.warm_ohm.at(0), expected, 2e-3 * expected);
  });
}

/// The steady state equals what a direct run has settled to after many time constants.
TEST(PeriodicState, EqualsALongDirectRunOfARectifierSupply) {
  test::RigMaker maker = test::small_supply();
  const core::Rig& rig = maker.rig();
  netlists::Situation situation;
  situation.stage = Stage::filter;
  situation.closing_angle_deg = 0.0;
  with_engine([&](Engine& engine) {
    SteadyRunner runner(engine, rig);
    const SteadyRun steady = runner.run(situation);
    TransientPlan plan;
    plan.stop_s = 300.0 / 60.0;
    plan.save_from_s = 299.0 / 60.0;
    const RigRun direct = run_transient(engine, rig, situation, plan);
    const core::NodeIndex plus = test::node_index(rig, "B+");
    const double steady_v = mean_of({steady.cycle.time_s(), steady.cycle.node_v(plus)});
    const double direct_v = mean_of({direct.time_s(), direct.node_v(plus)});
    EXPECT_NEAR(steady_v, direct_v, 2e-4 * direct_v);
    const double steady_a = rms_of({steady.cycle.time_s(), steady.cycle.mains_a()});
    EXPECT_NEAR(steady_a, rms_of({direct.time_s(), direct.mains_a()}), 3e-3 * steady_a);
  });
}

/// Choke input in discontinuous current, the demo with tubes out: again against a direct run.
TEST(PeriodicState, EqualsALongDirectRunOfTheDemoWithTubesOut) {
  const core::Rig rig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  netlists::Situation situation;
  situation.stage = Stage::tubes_out;
  with_engine([&](Engine& engine) {
    SteadyRunner runner(engine, rig);
    const SteadyRun steady = runner.run(situation);
    TransientPlan plan;
    plan.stop_s = 600.0 / 60.0;
    plan.save_from_s = 599.0 / 60.0;
    const RigRun direct = run_transient(engine, rig, situation, plan);
    for (const char* name : {"B+", "MID", "BIAS", "SCREEN"}) {
      const core::NodeIndex node = test::node_index(rig, name);
      const double direct_v = mean_of({direct.time_s(), direct.node_v(node)});
      EXPECT_NEAR(mean_of({steady.cycle.time_s(), steady.cycle.node_v(node)}), direct_v,
                  5e-4 * std::abs(direct_v))
          << name;
    }
  });
}

/// The answer does not depend on where the search starts.
TEST(PeriodicState, DoesNotDependOnTheGuess) {
  test::RigMaker maker = test::small_supply();
  const core::Rig& rig = maker.rig();
  netlists::Situation low;
  low.stage = Stage::filter;
  low.variac_setting = 0.1;
  netlists::Situation full = low;
  full.variac_setting = 1.0;
  const core::NodeIndex plus = test::node_index(rig, "B+");
  with_engine([&](Engine& engine) {
    SteadyRunner fresh(engine, rig);
    SteadyRunner stepped(engine, rig);
    static_cast<void>(stepped.run(low));
    const SteadyRun a = fresh.run(full);
    const SteadyRun b = stepped.run(full);
    EXPECT_NEAR(mean_of({a.cycle.time_s(), a.cycle.node_v(plus)}),
                mean_of({b.cycle.time_s(), b.cycle.node_v(plus)}), 0.05);
  });
}

/// A failing engine: the solver passes the error on and gives no answer.
class FailingEngine : public Engine {
 public:
  Waveforms run(const netlists::Deck& /*deck*/, const RunSpec& /*spec*/) override {
    throw core::SimulationError("no convergence", {});
  }
};

TEST(PeriodicState, GivesNoAnswerWhenARunFails) {
  test::RigMaker maker = test::small_supply();
  FailingEngine engine;
  SteadyRunner runner(engine, maker.rig());
  EXPECT_THROW(static_cast<void>(runner.run({})), core::SimulationError);
}

/// An engine whose state never repeats: the solver gives up instead of returning something.
class WanderingEngine : public Engine {
 public:
  Waveforms run(const netlists::Deck& deck, const RunSpec& spec) override {
    Waveforms waves;
    waves.time_s = {0.0, spec.stop_s};
    waves.node_v.assign(spec.nodes.size(), {0.0, 0.0});
    waves.current_a.assign(spec.currents.size(), {0.0, 0.0});
    ++calls_;
    for (const double value : netlists::start_state(deck)) {
      waves.final_state.push_back(value + 100.0 + (calls_ % 7));
    }
    return waves;
  }

 private:
  int calls_ = 0;
};

TEST(PeriodicState, GivesUpOnACircuitThatNeverRepeats) {
  test::RigMaker maker = test::small_supply();
  WanderingEngine engine;
  SteadyRunner runner(engine, maker.rig());
  try {
    static_cast<void>(runner.run({}));
    FAIL() << "no exception";
  } catch (const core::SimulationError& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr("no steady state"));
  }
}

/// Mains off and on: states of parts that stay are carried over, by part.
TEST(CarriedState, KeepsTheChargeOfPartsInBothCircuits) {
  test::RigMaker maker = test::small_supply();
  netlists::Situation situation;
  situation.stage = Stage::filter;
  const netlists::BuiltDeck from = netlists::build_deck(maker.rig(), situation);
  std::vector<double> state = netlists::start_state(from.deck);
  for (std::size_t i = 0; i < state.size(); ++i) {
    state[i] = 10.0 + static_cast<double>(i);
  }
  situation.mains_on = false;
  const netlists::BuiltDeck to = netlists::build_deck(maker.rig(), situation);
  EXPECT_EQ(carried_state(from, state, to), state);
}

}  // namespace
}  // namespace firstglow::sim
