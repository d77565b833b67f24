// What is known of neighbours may shorten a search, not change what it finds.
#include <gtest/gtest.h>

#include <cmath>

#include "sim/engine/worker_pool.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rig_run.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;

Situation at_volts(double volts) {
  Situation situation;
  situation.variac_setting = volts / 120.0;
  return situation;
}

Situation behind_lamp(double watts) {
  Situation situation;
  situation.lamp = netlists::LampInSeries{core::Watts(watts), core::RmsVolts(120.0)};
  return situation;
}

double c1_volts(const core::Rig& rig, const SteadyRun& run) {
  const auto& c1 = std::get<core::Capacitor>(rig.find("C1")->data);
  return run.cycle.volts_between(c1.plus, c1.minus).back();
}

/// The last of the situations, reached through the others and by itself, within the accuracy of a
/// search: 1e-4 of the largest volts, 1e-3 of warm ohms.
void expect_same(const std::vector<Situation>& chain) {
  const test::RigMaker maker = test::small_supply();
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    SteadyRunner walker(engine, maker.rig());
    for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
      (void)walker.run(chain[i]);
    }
    const PeriodicPoint walked = walker.run(chain.back()).point;
    SteadyRunner fresh(engine, maker.rig());
    const PeriodicPoint alone = fresh.run(chain.back()).point;
    double largest = 0.0;
    for (const double value : alone.state) {
      largest = std::max(largest, std::abs(value));
    }
    for (std::size_t i = 0; i < alone.state.size(); ++i) {
      EXPECT_NEAR(walked.state[i], alone.state[i], 3e-4 * largest) << i;
    }
    for (std::size_t i = 0; i < alone.warm_ohm.size(); ++i) {
      EXPECT_NEAR(walked.warm_ohm[i] / alone.warm_ohm[i], 1.0, 3e-3) << i;
    }
  });
}

TEST(SteadyStart, OnALineThroughTwoStatesFindsTheSame) {
  expect_same({at_volts(120.0), at_volts(105.0), at_volts(90.0)});
}

TEST(SteadyStart, FarFromTwoStatesFindsTheSame) {
  expect_same({at_volts(120.0), at_volts(118.0), at_volts(20.0)});
}

TEST(SteadyStart, WithALampOfAnotherSizeFindsTheSame) {
  expect_same({behind_lamp(300.0), behind_lamp(25.0)});
  expect_same({behind_lamp(25.0), behind_lamp(100.0)});
}

/// The bleeder lifted: the capacitor must come up to the winding's peak, by hand 300 V 120/117
/// sqrt(2) = 435.1 V less some tenths in the rectifier, and not stay where the whole supply has it.
/// A search from nothing may come down a per cent above (docs/methods/steady_state.md).
TEST(SteadyStart, NearTheWholeCircuitComesUpToThePeak) {
  const test::RigMaker maker = test::small_supply();
  const core::Rig& rig = maker.rig();
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    SteadyRunner whole(engine, rig);
    const double loaded_v = c1_volts(rig, whole.run(at_volts(120.0)));
    Situation lifted = at_volts(120.0);
    lifted.lifted.insert("R1");
    SteadyRunner alone(engine, rig), near(engine, rig);
    near.start_near(whole);
    const double peak_v = 300.0 * 120.0 / 117.0 * std::sqrt(2.0);
    const double near_v = c1_volts(rig, near.run(lifted));
    EXPECT_LT(near_v, peak_v);
    EXPECT_GT(near_v, peak_v - 2.0);
    EXPECT_LT(loaded_v, near_v - 2.0);
    EXPECT_NEAR(c1_volts(rig, alone.run(lifted)), peak_v, 0.01 * peak_v);
  });
}

/// Heat of a capacitor: its leakage, 410 V squared over the ohms of its record; not what its charge
/// gains in the cycle that is looked at.
TEST(SteadyStart, ChargeIsNoHeat) {
  const test::RigMaker maker = test::small_supply();
  const core::Rig& rig = maker.rig();
  WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    TransientPlan plan;
    plan.stop_s = 0.05;  // from empty: a joule goes into the capacitor
    const RigRun run = run_transient(engine, rig, at_volts(120.0), plan);
    const auto c1 = static_cast<int>(rig.find("C1") - rig.parts.data());
    const auto& capacitor = std::get<core::Capacitor>(rig.parts[static_cast<std::size_t>(c1)].data);
    const std::vector<double> volts = run.volts_between(capacitor.plus, capacitor.minus);
    const double stored_w = 0.5 * 10e-6 * volts.back() * volts.back() / 0.05;
    EXPECT_GT(stored_w, 5.0);
    EXPECT_LT(std::abs(dissipation_w(rig, run, c1).value()), 0.01 * stored_w);
  });
}

}  // namespace
}  // namespace firstglow::sim
