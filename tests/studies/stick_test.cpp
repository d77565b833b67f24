// Which stick, and what a bare short does instead.
#include "sim/studies/stick.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/netlists/small_supply.hpp"
#include "tests/published/ode_solver.hpp"

namespace firstglow::sim {
namespace {

using core::Farads;
using core::Henries;
using core::Ohms;
using core::Seconds;
using core::Volts;

StickResult stick_of(const core::Rig& rig, const StickOptions& options) {
  WorkerPool pool(PoolOptions{2, ""});
  return stick(rig, options, pool);
}

/// Peak current of the series circuit by SUNDIALS CVODE: the current when di/dt passes zero.
double peak_by_cvode(double volts, double farad, double ohm, double henry) {
  published::OdeProblem problem;
  problem.rate = [=](double, const double* y, double* dy) {
    dy[0] = -y[1] / farad;
    dy[1] = (y[0] - ohm * y[1]) / henry;
  };
  problem.root_count = 1;
  problem.roots = [=](double, const double* y, double* g) { g[0] = y[0] - ohm * y[1]; };
  published::OdeSolver solver(problem, {volts, 0.0});
  EXPECT_TRUE(solver.advance(1.0));
  return solver.state()[1];
}

// Underdamped, overdamped and critical (R = 2 sqrt(L / C) = 0.2828 ohm for 1 uH, 50 uF).
TEST(HardShort, PeakAgreesWithCvode) {
  for (const double ohm : {0.03, 1.5, 2.0 * std::sqrt(1e-6 / 50e-6)}) {
    const HardShort found = hard_short(Volts(600.0), Farads(50e-6), Ohms(ohm), Henries(1e-6));
    EXPECT_NEAR(found.peak_a / peak_by_cvode(600.0, 50e-6, ohm, 1e-6), 1.0, 1e-4) << ohm;
  }
}

// By hand: all of C V^2 / 2 = 9 J ends in 0.5 ohm, so the integral of i^2 is 18 A2s; and no current
// is above V / R = 1200 A or above V sqrt(C / L).
TEST(HardShort, EnergyGivesTheSquareOfTheCurrent) {
  const HardShort found = hard_short(Volts(600.0), Farads(50e-6), Ohms(0.5), Henries(1e-6));
  EXPECT_NEAR(found.joules, 9.0, 1e-9);
  EXPECT_NEAR(found.i2t, 18.0, 1e-9);
  EXPECT_LT(found.peak_a, 1200.0);
  EXPECT_GT(found.peak_a, 900.0);
  EXPECT_THROW((void)hard_short(Volts(600.0), Farads(0.0), Ohms(1.0), Henries(1e-6)),
               core::ContractError);
}

// By hand: 10 uF (no tolerance) alone on the stick; its bleeder does not count.
TEST(Stick, FollowsTheClosedFormOnOneCapacitor) {
  StickOptions options;
  options.ohms = Ohms(10e3);
  options.watts = core::Watts(10.0);
  const StickResult result = stick_of(test::small_supply().rig(), options);
  ASSERT_EQ(result.shots.size(), 1U);
  const StickShot& shot = result.shots.front();
  EXPECT_NEAR(shot.limit_s.value(), 10001.0 * 10e-6 * std::log(shot.start_v / 50.0), 1e-4);
  EXPECT_NEAR(shot.peak_a, shot.start_v / 10001.0, 1e-9);
  EXPECT_NEAR(shot.peak_w, shot.peak_a * shot.peak_a * 10e3, 1e-6);
  const double all_j = 0.5 * 10e-6 * (shot.start_v * shot.start_v - 50.0 * 50.0);
  EXPECT_NEAR(shot.joules, all_j, 0.01 * all_j);
  EXPECT_LE(shot.left_v, 50.0 * 1.001);
  for (const core::Finding& one : result.findings) {
    EXPECT_EQ(one.verdict, core::Verdict::safe) << one.rule;
  }
}

// [EIA-815]: about one ohm per applied volt, so never more than an ampere; 10 kohm and no more
// (common practice, no source).
TEST(Stick, WorksOutAStickBetweenAnOhmPerVoltAndTenKilohm) {
  const StickResult result = stick_of(test::small_supply().rig(), {});
  EXPECT_TRUE(result.worked_out);
  EXPECT_GE(result.ohm, result.working_v);
  EXPECT_LE(result.ohm, 10e3);
  for (const StickShot& shot : result.shots) {
    EXPECT_LE(shot.peak_a, 1.0);
    EXPECT_LE(shot.limit_s.value(), 5.0);
    EXPECT_GE(result.watts * 10.0, shot.peak_w);
  }
}

// A hundred times the capacitance needs a smaller stick; 1 Mohm is no stick and is said to be none.
TEST(Stick, LargeBankTakesASmallerStickAndAMegohmIsUnsafe) {
  test::RigMaker maker = test::small_supply();
  for (core::Part& part : maker.rig().parts) {
    if (auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      capacitor->value.marked = Farads(1000e-6);
    }
  }
  const StickResult fitted = stick_of(maker.rig(), {});
  EXPECT_LT(fitted.ohm, 5e3);
  StickOptions megohm;
  megohm.ohms = Ohms(1e6);
  const StickResult slow = stick_of(maker.rig(), megohm);
  const auto unsafe = [](const core::Finding& one) {
    return one.rule == "stick-time" && one.verdict == core::Verdict::unsafe;
  };
  EXPECT_TRUE(std::any_of(slow.findings.begin(), slow.findings.end(), unsafe));
  // a rating nobody gave is no good verdict
  const auto unrated = [](const core::Finding& one) {
    return one.rule == "stick-watts" && one.verdict == core::Verdict::no_verdict;
  };
  EXPECT_TRUE(std::any_of(slow.findings.begin(), slow.findings.end(), unrated));
}

}  // namespace
}  // namespace firstglow::sim
