#include "sim/studies/forming_run.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>

#include "core/electrolytic.hpp"
#include "core/error.hpp"
#include "sim/studies/reform.hpp"
#include "sim/studies/stiff_ode.hpp"
#include "tests/published/ode_solver.hpp"

namespace firstglow::sim {
namespace {

OdeTolerance tolerance(std::size_t states, double relative) {
  OdeTolerance tol;
  tol.relative = relative;
  tol.absolute.assign(states, 1e-9);
  tol.longest_step_s = 1e9;
  return tol;
}

// y' = -y: y(1) = 1/e.
TEST(StiffOde, FollowsAnExponential) {
  const auto end =
      integrate([](double, const std::vector<double>& y) { return std::vector<double>{-y[0]}; },
                {1.0}, 0.0, 1.0, tolerance(1, 1e-7), {});
  EXPECT_NEAR(end.y[0], std::exp(-1.0), 1e-5);
  EXPECT_EQ(end.time_s, 1.0);
}

// y' = -1e6 (y - cos t) - sin t has the solution cos t; an explicit method would need 10 million
// steps for 10 s.
TEST(StiffOde, StepsOverAFastMode) {
  const auto end = integrate(
      [](double t, const std::vector<double>& y) {
        return std::vector<double>{-1e6 * (y[0] - std::cos(t)) - std::sin(t)};
      },
      {2.0}, 0.0, 10.0, tolerance(1, 1e-6), {});
  EXPECT_NEAR(end.y[0], std::cos(10.0), 1e-4);
  EXPECT_LT(end.steps, 20000);
}

// Two states, from outside: x'' = -x over a quarter turn.
TEST(StiffOde, CouplesStates) {
  const auto end = integrate(
      [](double, const std::vector<double>& y) {
        return std::vector<double>{y[1], -y[0]};
      },
      {0.0, 1.0}, 0.0, std::acos(0.0), tolerance(2, 1e-7), {});
  EXPECT_NEAR(end.y[0], 1.0, 1e-4);
  EXPECT_NEAR(end.y[1], 0.0, 1e-4);
}

TEST(StiffOde, StopsWhereItIsTold) {
  const auto end = integrate(
      [](double, const std::vector<double>&) { return std::vector<double>{1.0}; }, {0.0}, 0.0,
      100.0, tolerance(1, 1e-3), [](double, const std::vector<double>& y) { return y[0] < 10.0; });
  EXPECT_GE(end.y[0], 10.0);
  EXPECT_LT(end.time_s, 100.0);
}

TEST(StiffOde, SaysSoWhenThereIsNoSolution) {
  EXPECT_THROW(static_cast<void>(integrate(
                   [](double, const std::vector<double>& y) {
                     return std::vector<double>{std::sqrt(1.0 - y[0])};  // ends at y = 1
                   },
                   {0.999}, 0.0, 10.0, tolerance(1, 1e-6), {})),
               core::SimulationError);
}

constexpr core::Kelvin kAir{293.15};

core::OxideCan can_of(const core::FormingGuess& guess) {
  const core::Farads farads(40e-6);
  const core::Volts rated(450.0);
  return core::oxide_can(farads, rated, core::Amps(1.9e-3), guess,
                         core::can_heat(std::nullopt, farads, rated));
}

// The same three equations written down again, integrated by CVODE to 1e-10.
TEST(FormingRun, AgreesWithAnotherIntegrator) {
  const core::OxideCan can = can_of({0.25, 0.003, 0.5});
  const double ohm = 91e3, farad = 40e-6, supply_v = 450.0;
  published::OdeProblem problem;
  problem.rate = [&](double, const double* y, double* rate) {
    const double factor = std::exp2((y[2] - 293.15) / 15.0);
    const double forming = factor * std::min(y[0] / y[1], 1.0) * can.standing.si() *
                           std::exp(30.0 * (y[0] / y[1] - 1.0));
    const double share = y[0] / 450.0;
    const double residual = factor * can.residual.si() * share * std::exp((share - 1.0) / 0.25);
    rate[0] = ((supply_v - y[0]) / ohm - forming - residual) / farad;
    rate[1] = forming / can.charge_per_volt_c;
    rate[2] = (y[0] * (forming + residual) - (y[2] - 293.15) / can.thermal_k_per_w) /
              can.heat_capacity_j_per_k;
  };
  published::OdeSolver other(problem, {0.0, 0.25 * 450.0, 293.15});
  FormingRun run(can, core::Farads(farad), {0.25 * core::Volts(450.0), kAir}, kAir);
  double from_s = 0.0;
  for (const double time_s : {30.0, 300.0, 1800.0, 7200.0, 28800.0}) {
    other.advance(time_s);
    run.run({supply_v, ohm}, time_s - from_s);
    from_s = time_s;
    EXPECT_NEAR(run.now().can_v, other.state()[0], 0.5) << time_s;
    EXPECT_NEAR(run.now().formed_v, other.state()[1], 0.5) << time_s;
    EXPECT_NEAR(run.now().can_k, other.state()[2], 0.1) << time_s;
  }
}

// At constant volts dv_f/dt = (i_s/q) exp(B (v/v_f - 1)), so the time to get from one v_f to
// another is an integral that Simpson's rule finds: it must be the hour that was run. And the
// current goes roughly as q v/(B t): 29.1 mC per volt x 450 V/30/3600 s = 0.121 mA.
TEST(FormingRun, FallsAsTheInverseOfTime) {
  core::OxideCan can = can_of({0.9, 0.003, 0.2});
  can.residual = core::Amps(1e-12);
  can.heat_capacity_j_per_k = 1e6;  // stays cool
  const double from_v = 380.0;
  FormingRun run(can, core::Farads(40e-6), {core::Volts(from_v), kAir}, kAir);
  run.run({450.0, 10.0}, 3600.0);
  constexpr int kParts = 2000;
  const double width_v = (run.now().formed_v - from_v) / kParts;
  double sum = 0.0;
  for (int k = 0; k <= kParts; ++k) {
    const double weight = k == 0 || k == kParts ? 1.0 : k % 2 == 1 ? 4.0 : 2.0;
    sum += weight * std::exp(-30.0 * (450.0 / (from_v + k * width_v) - 1.0));
  }
  const double time_s = can.charge_per_volt_c / can.standing.si() * sum * width_v / 3.0;
  EXPECT_NEAR(time_s, 3600.0, 0.01 * 3600.0);
  EXPECT_NEAR(run.now().current_a, 0.121e-3, 0.2 * 0.121e-3);
}

// Behind a resistor the film takes what the resistor lets through: tau = q R = 2650 s.
TEST(FormingRun, FallsExponentiallyBehindAResistor) {
  core::OxideCan can = can_of({0.2, 0.003, 0.2});
  can.residual = core::Amps(1e-12);
  FormingRun run(can, core::Farads(40e-6), {core::Volts(90.0), kAir}, kAir);
  run.run({450.0, 91e3}, 600.0);
  const double early_a = run.now().current_a;
  run.run({450.0, 91e3}, 1325.0);
  EXPECT_NEAR(run.now().current_a / early_a, std::exp(-0.5), 0.05);
}

core::Rig one_can(double working_v) {
  core::Rig rig;
  core::Part part;
  part.designator = "C1";
  core::Capacitor can;
  can.value.marked = core::Farads(40e-6);
  can.working_volts = core::Volts(working_v);
  can.history.years_idle = 20;
  part.data = can;
  rig.parts.push_back(part);
  return rig;
}

// 450 V / 5 mA = 90 kohm, next preferred value 91 kohm, as in the bench note of 5 mA into a short.
TEST(ReformBench, ChoosesTheResistorForTheCeiling) {
  const ReformResult result = reform_on_bench(one_can(450.0), {});
  ASSERT_EQ(result.plans.size(), 1U);
  EXPECT_NEAR(result.plans[0].series_ohm, 91e3, 1e-6);
  EXPECT_NEAR(result.plans[0].series_w, 450.0 * 450.0 / 91e3, 1e-9);
  EXPECT_NEAR(result.plans[0].limit_a, 1.9e-3, 1e-9);  // [JAN-C-62]: 0.04 x 40 + 0.3
}

TEST(ReformBench, ReachesTheLimitWhenItCanAndGivesUpWhenNot) {
  const auto from = std::chrono::steady_clock::now();
  const ReformResult result = reform_on_bench(one_can(450.0), {});
  const auto took = std::chrono::steady_clock::now() - from;
  const auto& cases = result.plans[0].cases;
  ASSERT_EQ(cases.size(), 3U);
  EXPECT_TRUE(cases[0].reached) << cases[0].end;
  EXPECT_FALSE(cases[2].reached) << cases[2].end;
  EXPECT_LT(cases[0].total_s, cases[1].total_s);
  for (const FormingCase& one : cases) {
    for (const FormingRow& row : one.rows) {
      EXPECT_LE(row.peak_a, 5e-3 * 1.001) << one.name;
      EXPECT_LE(row.can_v, row.mark_v) << one.name;
    }
  }
  EXPECT_LT(std::chrono::duration<double>(took).count(), 2.0) << "hours in milliseconds";
}

TEST(ReformBench, RefusesVoltsAboveTheRating) {
  ReformOptions options;
  options.steps_v = {200.0, 460.0};
  EXPECT_NE(reform_on_bench(one_can(450.0), options).plans[0].failure.find("above its working"),
            std::string::npos);
}

}  // namespace
}  // namespace firstglow::sim
