// What is known of neighbours may shorten a search, not change what it finds.
#include <gtest/gtest.h>

#include <cmath>

#include "sim/engine/worker_pool.hpp"
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

}  // namespace
}  // namespace firstglow::sim
