// A charged three-section filter left to itself: CVODE against the engine and our matrix
// exponential.
#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "sim/studies/linear_discharge.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/ode_solver.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

/// C1 - L1 - C2 - L2 - C3, each choke with its copper, a bleeder at either end.
struct Filter {
  double farad[3];
  double henry[2];
  double copper_ohm[2];
  double bleeder_ohm[3];  ///< across C1, C2, C3; 0: none
  double start_v[3];
};

constexpr Filter kSupply{
    {8e-6, 16e-6, 40e-6}, {10.0, 15.0}, {90.0, 200.0}, {0.0, 0.0, 25e3}, {700.0, 650.0, 620.0}};
constexpr Filter kLightlyBled{
    {4e-6, 40e-6, 80e-6}, {5.0, 20.0}, {60.0, 300.0}, {220e3, 0.0, 100e3}, {500.0, 450.0, 440.0}};

/// Volts of C1, C2, C3 at the given times.
using Curve = std::vector<std::vector<double>>;

/// States: volts of C1, C2, C3, amps of L1, L2.
OdeProblem problem_of(const Filter& f) {
  OdeProblem problem;
  problem.rate = [f](double, const double* y, double* dy) {
    const double* i = y + 3;
    const double in[3] = {-i[0], i[0] - i[1], i[1]};
    for (int k = 0; k < 3; ++k) {
      const double bled = f.bleeder_ohm[k] > 0.0 ? y[k] / f.bleeder_ohm[k] : 0.0;
      dy[k] = (in[k] - bled) / f.farad[k];
    }
    for (int k = 0; k < 2; ++k) {
      dy[3 + k] = (y[k] - y[k + 1] - i[k] * f.copper_ohm[k]) / f.henry[k];
    }
  };
  return problem;
}

std::vector<double> start_of(const Filter& f) {
  return {f.start_v[0], f.start_v[1], f.start_v[2], 0.0, 0.0};
}

Curve by_cvode(const Filter& f, const std::vector<double>& times_s) {
  OdeSolver solver(problem_of(f), start_of(f));
  Curve curve(3);
  for (const double time_s : times_s) {
    if (time_s > 0.0) {
      solver.advance(time_s);
    }
    for (std::size_t k = 0; k < 3; ++k) {
      curve[k].push_back(solver.state()[k]);
    }
  }
  return curve;
}

/// Last time at which a capacitor passes `limit_v` in either sense.
double last_passage_by_cvode(const Filter& f, std::size_t capacitor, double limit_v,
                             double until_s) {
  OdeProblem problem = problem_of(f);
  problem.root_count = 1;
  problem.roots = [=](double, const double* y, double* g) {
    g[0] = std::abs(y[capacitor]) - limit_v;
  };
  OdeSolver solver(problem, start_of(f));
  double last_s = 0.0;
  while (solver.advance(until_s)) {
    last_s = solver.time();
  }
  return last_s;
}

sim::LinearDischarge::Course by_matrix_exponential(const Filter& f) {
  sim::LinearNetwork network;
  network.node_count = 6;  // 1, 2, 3: tops of C1, C2, C3; 4, 5: between copper and coil
  for (int k = 0; k < 3; ++k) {
    network.capacitors.push_back({k + 1, 0, f.farad[k]});
    if (f.bleeder_ohm[k] > 0.0) {
      network.resistors.push_back({k + 1, 0, f.bleeder_ohm[k]});
    }
  }
  for (int k = 0; k < 2; ++k) {
    network.resistors.push_back({k + 1, k + 4, f.copper_ohm[k]});
    network.inductors.push_back({k + 4, k + 2, f.henry[k]});
  }
  return sim::LinearDischarge(network).from(start_of(f));
}

struct FilterDeck {
  netlists::Deck deck;
  std::vector<int> nodes;
};
FilterDeck deck_of(const Filter& f) {
  FilterDeck result;
  for (int k = 0; k < 3; ++k) {
    result.nodes.push_back(result.deck.add_node());
    result.deck.add(-1,
                    netlists::CapacitorElement{result.nodes.back(), 0, f.farad[k], f.start_v[k]});
    if (f.bleeder_ohm[k] > 0.0) {
      result.deck.add(-1, netlists::ResistorElement{result.nodes.back(), 0, f.bleeder_ohm[k]});
    }
  }
  for (std::size_t k = 0; k < 2; ++k) {
    const int middle = result.deck.add_node();
    result.deck.add(-1, netlists::ResistorElement{result.nodes[k], middle, f.copper_ohm[k]});
    result.deck.add(-1, netlists::InductorElement{middle, result.nodes[k + 1], f.henry[k]});
  }
  return result;
}

/// Largest deviation of any capacitor at any point, over the highest start volts.
double largest_deviation(const Filter& f, double stop_s, double step_s) {
  const FilterDeck built = deck_of(f);
  sim::RunSpec spec;
  spec.stop_s = stop_s;
  spec.max_step_s = step_s;
  spec.nodes = built.nodes;
  const auto waves = run(built.deck, spec);
  const Curve exact = by_cvode(f, waves.time_s);
  double worst_v = 0.0;
  for (std::size_t k = 0; k < 3; ++k) {
    for (std::size_t i = 0; i < waves.time_s.size(); ++i) {
      worst_v = std::max(worst_v, std::abs(waves.node_v[k][i] - exact[k][i]));
    }
  }
  return worst_v / f.start_v[0];
}

// The volts swing through the chokes for the first half second, then fall as one.
TEST(FilterDischarge, EngineFollowsCvodeThroughTheSwing) {
  EXPECT_LT(largest_deviation(kSupply, 0.5, 1e-4), 1e-3);
  EXPECT_LT(largest_deviation(kLightlyBled, 0.5, 1e-4), 1e-3);
}

TEST(FilterDischarge, EngineFollowsCvodeToTheEnd) {
  EXPECT_LT(largest_deviation(kSupply, 6.0, 2e-4), 1e-3);
  EXPECT_LT(largest_deviation(kLightlyBled, 60.0, 2.5e-4), 1e-3);
}

TEST(FilterDischarge, MatrixExponentialFollowsCvode) {
  for (const Filter& filter : {kSupply, kLightlyBled}) {
    const auto course = by_matrix_exponential(filter);
    const std::vector<double> times_s{1e-3, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0};
    const Curve exact = by_cvode(filter, times_s);
    for (std::size_t i = 0; i < times_s.size(); ++i) {
      const auto state = course.at(times_s[i]);
      for (std::size_t k = 0; k < 3; ++k) {
        EXPECT_NEAR(state[k], exact[k][i], 1e-6 * filter.start_v[0])
            << times_s[i] << " s, C" << k + 1;
      }
    }
  }
}

// The answer people act on: when is each capacitor below the limit for good?
TEST(FilterDischarge, TimesToALimitAgreeWithCvodesRoots) {
  for (const Filter& filter : {kSupply, kLightlyBled}) {
    const auto course = by_matrix_exponential(filter);
    for (const double limit_v : {400.0, 50.0, 30.0}) {
      for (std::size_t k = 0; k < 3; ++k) {
        const double exact_s = last_passage_by_cvode(filter, k, limit_v, 100.0);
        EXPECT_TRUE(agrees(course.last_above(k, limit_v).value(),
                           {exact_s, 1e-5, 1e-6, "computed: roots found by CVODE"}))
            << limit_v << " V, C" << k + 1;
      }
    }
  }
}

// Late on, all three stand together and fall with (C1 + C2 + C3) and the bleeders in parallel, a
// little slower for the copper between them.
TEST(FilterDischarge, TailHasTheTimeConstantOfTheWhole) {
  const Curve late = by_cvode(kLightlyBled, {30.0, 40.0});
  const double tau_s = 10.0 / std::log(late[2][0] / late[2][1]);
  const double ohm = 1.0 / (1.0 / 220e3 + 1.0 / 100e3);
  EXPECT_TRUE(agrees(tau_s, {124e-6 * ohm, 2e-3, 0.0, "by hand: R C of the whole"}));
}

}  // namespace
}  // namespace firstglow::published
