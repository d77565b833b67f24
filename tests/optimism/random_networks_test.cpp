// A thousand random networks of resistors and capacitors: the study's exponential against another
// one (independent_course.hpp: other elimination, other number type, Taylor and squaring).
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>

#include "sim/studies/diode_discharge.hpp"
#include "sim/studies/walk_steps.hpp"
#include "tests/optimism/independent_course.hpp"

namespace firstglow::sim {
namespace {

LinearNetwork random_network(std::mt19937& random) {
  std::uniform_real_distribution<double> unit(0.0, 1.0);
  LinearNetwork network;
  const int nodes = 2 + static_cast<int>(random() % 6);
  network.node_count = nodes + 1;
  const auto below = [&](int node) {
    return static_cast<int>(random() % static_cast<unsigned>(node));
  };
  const auto ohm = [&] { return std::pow(10.0, 2.0 + 4.0 * unit(random)); };
  for (int node = 1; node <= nodes; ++node) {
    network.capacitors.push_back(
        {node, below(node), std::pow(10.0, -7.0 + 3.0 * unit(random)), -1});
    network.resistors.push_back({node, below(node), ohm(), -1});
  }
  for (int i = 0; i < nodes / 2; ++i) {
    const int a = 1 + static_cast<int>(random() % static_cast<unsigned>(nodes));
    network.resistors.push_back({a, below(a), ohm(), -1});
  }
  return network;
}

// 0.1 % of the largest start, at eight times from 1 ms to an hour each.
TEST(RandomNetworks, AgreeWithAnotherMatrixExponential) {
  std::mt19937 random(515);
  std::uniform_real_distribution<double> volts(-200.0, 900.0);
  double worst = 0.0;
  for (int i = 0; i < 1000; ++i) {
    const LinearNetwork network = random_network(random);
    std::vector<double> start;
    double largest_v = 1.0;
    for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
      start.push_back(volts(random));
      largest_v = std::max(largest_v, std::abs(start.back()));
    }
    const auto course = LinearDischarge(network).from(start);
    const test::IndependentCourse other(network);
    for (const double time_s : {1e-3, 1e-2, 0.1, 0.5, 2.0, 10.0, 100.0, 3600.0}) {
      const auto states = test::IndependentCourse::times(other.propagator(time_s), start);
      const auto ours = course.at(time_s);
      for (std::size_t k = 0; k < start.size(); ++k) {
        worst = std::max(worst, std::abs(states[k] - ours[k]) / largest_v);
      }
    }
  }
  EXPECT_LT(worst, 1e-3);
  EXPECT_GT(worst, 0.0);  // two different computations
}

// The time of a limit is looked for only where modes could still reach it. Against a look at every
// hundredth of a decade: never above later on, above just before.
TEST(RandomNetworks, LastTimeAboveALimitIsTheLast) {
  std::mt19937 random(77);
  std::uniform_real_distribution<double> volts(-200.0, 900.0);
  int found = 0, never = 0;
  for (int i = 0; i < 200; ++i) {
    const LinearNetwork network = random_network(random);
    std::vector<double> low, high;
    for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
      low.push_back(volts(random));
      high.push_back(low.back() + 0.2 * std::abs(volts(random)));
    }
    const LinearDischarge discharge(network);
    const auto course = i % 2 == 0 ? discharge.from_box(low, high) : discharge.from(high);
    for (std::size_t k = 0; k < low.size(); ++k) {
      for (const double limit_v : {50.0, 1.0}) {
        const auto last_s = course.last_above(k, limit_v);
        never += last_s ? 0 : 1;
        found += last_s && *last_s > 0.0 ? 1 : 0;
        for (int step = 0; step < 1300; ++step) {
          const double time_s = 1e-5 * std::pow(10.0, 0.01 * step);
          if (last_s && time_s > *last_s) {
            ASSERT_LE(std::abs(course.state_at(k, time_s)), limit_v * (1.0 + 1e-9));
          }
        }
        if (last_s && *last_s > 0.0) {
          ASSERT_GE(std::abs(course.state_at(k, *last_s * (1.0 - 1e-6))), limit_v * (1.0 - 1e-9));
        }
      }
    }
  }
  EXPECT_GT(found, 500);
  EXPECT_EQ(never, 0);  // every node of these networks leads to the chassis
}

// By hand: 1 mF at 400 V behind a diode feeds 1 mF at 100 V with 1 kohm across; the first has no
// other path. The diode turns on at once and joins them at 250 V; from there 2 mF on 1 kohm.
TEST(DiodeDischarge, PassesChargeOnAndDecaysTogether) {
  LinearNetwork network;
  network.node_count = 3;
  network.capacitors = {{1, 0, 1e-3, -1}, {2, 0, 1e-3, -1}};
  network.resistors = {{2, 0, 1e3, -1}};
  network.diodes = {{1, 2, -1}};
  const auto walk = DiodeDischarge(network).walk({400.0, 100.0});
  ASSERT_TRUE(walk);
  for (const double time_s : {0.1, 1.0, 4.0}) {
    EXPECT_NEAR(walk->state_at(1, time_s), 250.0 * std::exp(-time_s / 2.0), 0.4);
  }
  const double by_hand_s = 2.0 * std::log(250.0 / 50.0);
  EXPECT_GE(walk->last_above(1, 50.0).value(), by_hand_s);
  EXPECT_LE(walk->last_above(1, 50.0).value(), 1.06 * by_hand_s);
  // the first follows, never below the second
  EXPECT_NEAR(walk->state_at(0, 4.0), walk->state_at(1, 4.0), 0.5);
}

// A choke swings between two capacitors behind a diode: the points of time that a walk finds for
// itself give what points twenty times as close give.
TEST(DiodeDischarge, PointsOfTimeDoNotMoveTheCourse) {
  LinearNetwork network;
  network.node_count = 4;
  network.capacitors = {{1, 0, 40e-6, -1}, {2, 0, 20e-6, -1}, {3, 0, 10e-6, -1}};
  network.resistors = {{1, 0, 300e3, -1}, {2, 0, 50e3, -1}, {3, 0, 40e3, -1}};
  network.inductors = {{2, 3, 8.0, -1}};
  network.diodes = {{1, 2, -1}};
  const std::vector<double> start{500.0, 450.0, 100.0, 0.0};
  DiodeDischarge coarse(network);
  ASSERT_TRUE(coarse.walk(start));
  const WalkGrid grid = coarse.grid_of_swings();
  // 8 H with 20 and 10 uF in series: 46 ms; the diode may join 40 uF to it: 51 ms
  EXPECT_GT(grid.swing_step_s * kStepsPerSwing, 0.044);
  EXPECT_LT(grid.swing_step_s * kStepsPerSwing, 0.052);
  const auto own = DiodeDischarge(network, grid).walk(start);
  const auto fine = DiodeDischarge(network, WalkGrid{1e-4, 20.0}).walk(start);
  ASSERT_TRUE(own && fine);
  for (const double time_s : {0.3, 1.0, 2.5, 5.0, 10.0}) {
    for (std::size_t k = 0; k < 2; ++k) {
      EXPECT_NEAR(own->state_at(k, time_s), fine->state_at(k, time_s), 0.5) << time_s;
    }
  }
}

// Steps stay in their share of the time, and steps of one number are of one length.
TEST(WalkSteps, GrowByDoublingWithinTheirShare) {
  const WalkGrid grid{2.5e-3, 1.0};
  const WalkSteps steps = steps_of_walk(grid);
  std::map<std::size_t, double> length_s;
  for (std::size_t i = 2; i < steps.time_s.size(); ++i) {
    const double from_s = steps.time_s[i - 1];
    EXPECT_LE(steps.step_s[i], kLongStepShare * from_s);
    if (from_s < grid.swing_until_s) {
      EXPECT_LE(steps.step_s[i], grid.swing_step_s);
    }
    EXPECT_EQ(length_s.try_emplace(steps.length[i], steps.step_s[i]).first->second,
              steps.step_s[i]);
    EXPECT_EQ(steps.time_s[i], from_s + steps.step_s[i]);
  }
  EXPECT_GE(steps.time_s.back(), kForeverSeconds);
  EXPECT_LT(length_s.size(), 60U);
}

// The same diode turned round never conducts: the first capacitor keeps its charge.
TEST(DiodeDischarge, BlockedDiodeKeepsTheCharge) {
  LinearNetwork network;
  network.node_count = 3;
  network.capacitors = {{1, 0, 1e-3, -1}, {2, 0, 1e-3, -1}};
  network.resistors = {{2, 0, 1e3, -1}};
  network.diodes = {{2, 1, -1}};
  const auto walk = DiodeDischarge(network).walk({400.0, 100.0});
  ASSERT_TRUE(walk);
  EXPECT_FALSE(walk->last_above(0, 50.0));
  EXPECT_NEAR(walk->state_at(1, 1.0), 100.0 * std::exp(-1.0), 0.1);
}

}  // namespace
}  // namespace firstglow::sim
