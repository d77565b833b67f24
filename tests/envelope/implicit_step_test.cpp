#include "sim/envelope/implicit_step.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace firstglow::sim {
namespace {

using Eigen::VectorXd;

constexpr double kPeriodS = 1.0 / 60.0;

/// Order conditions of a third-order Runge-Kutta method, by hand from the Taylor series: sums of b,
/// b c, b c^2 and b A c are 1, 1/2, 1/3 and 1/6; the embedded weights fulfil the first two only.
TEST(SdirkTableau, FulfilsTheOrderConditions) {
  const SdirkTableau& t = sdirk_tableau();
  double b = 0.0, bc = 0.0, bcc = 0.0, bac = 0.0, e = 0.0, ec = 0.0, ecc = 0.0;
  for (std::size_t i = 0; i < 3; ++i) {
    double row = 0.0, ac = 0.0;
    for (std::size_t j = 0; j < 3; ++j) {
      row += t.weight[i][j];
      ac += t.weight[i][j] * t.node[j];
    }
    EXPECT_NEAR(row, t.node[i], 1e-14);
    b += t.weight[2][i];
    bc += t.weight[2][i] * t.node[i];
    bcc += t.weight[2][i] * t.node[i] * t.node[i];
    bac += t.weight[2][i] * ac;
    e += t.embedded[i];
    ec += t.embedded[i] * t.node[i];
    ecc += t.embedded[i] * t.node[i] * t.node[i];
  }
  EXPECT_NEAR(b, 1.0, 1e-14);
  EXPECT_NEAR(bc, 1.0 / 2.0, 1e-14);
  EXPECT_NEAR(bcc, 1.0 / 3.0, 1e-14);
  EXPECT_NEAR(bac, 1.0 / 6.0, 1e-14);
  EXPECT_NEAR(e, 1.0, 1e-14);
  EXPECT_NEAR(ec, 1.0 / 2.0, 1e-14);
  EXPECT_GT(std::abs(ecc - 1.0 / 3.0), 0.01) << "else the estimate of the error would be nothing";
  // L-stable: the last row is the weights, and gamma is not 0
  EXPECT_NEAR(t.gamma, 0.4358665215, 1e-10);  // [ALEXANDER-1977], as printed in textbooks
}

/// What a cycle leaves of two modes: one of 2 s, one of 30 ms that is forced to follow it.
VectorXd two_modes(const VectorXd& point, double /*time_s*/) {
  VectorXd drift(2);
  drift[0] = point[0] * std::expm1(-kPeriodS / 2.0) / kPeriodS;
  drift[1] = (point[1] - 0.5 * point[0]) * std::expm1(-kPeriodS / 0.03) / kPeriodS;
  return drift;
}

/// The slow mode after 4 s in steps of half a second to a second: 100 exp(-t / 2 s), by hand. The
/// drift alone is wrong by T / (2 x 2 s) = 0.4 % in the rate, 0.5 V here; centred it is not.
TEST(ImplicitStepper, FollowsASlowModeAcrossManyCycles) {
  ImplicitStepper stepper(two_modes, kPeriodS, 2);
  stepper.set_scales(VectorXd::Constant(2, 0.01), VectorXd::Constant(2, 100.0));
  DriftPoint at{0.0, VectorXd(2), VectorXd(2)};
  at.value << 100.0, 50.0;
  at.rate << -50.0, -25.0;
  for (int i = 0; i < 16; ++i) {
    const auto result = stepper.step(at, 0.25);
    ASSERT_TRUE(result);
    stepper.remember(at);
    at = result->end;
  }
  EXPECT_NEAR(at.value[0], 100.0 * std::exp(-2.0), 0.02);
  EXPECT_NEAR(at.value[1], 0.5 * at.value[0], 0.2);
}

/// A coordinate of which nothing is left after a cycle is found, and its noise is not judged.
TEST(ImplicitStepper, FindsTheCoordinateThatFollows) {
  int calls = 0;
  const auto noisy = [&](const VectorXd& point, double /*time_s*/) {
    VectorXd drift(2);
    drift[0] = -point[0] / 3.0;
    drift[1] = (((++calls % 2) == 0 ? 0.3 : -0.3) - point[1]) / kPeriodS;
    return drift;
  };
  ImplicitStepper stepper(noisy, kPeriodS, 2);
  stepper.set_scales(VectorXd::Constant(2, 0.05), VectorXd::Constant(2, 100.0));
  DriftPoint at{0.0, VectorXd(2), VectorXd(2)};
  at.value << 100.0, 0.0;
  at.rate << -33.3, 0.0;
  const auto result = stepper.step(at, 0.2);
  ASSERT_TRUE(result);
  EXPECT_FALSE(stepper.follows(0));
  EXPECT_TRUE(stepper.follows(1));
  EXPECT_LT(result->size, 1.0);
}

/// A drift that jumps about has no step, and says so.
TEST(ImplicitStepper, GivesNothingWhenItDoesNotSettle) {
  int calls = 0;
  const auto wild = [&](const VectorXd& point, double /*time_s*/) {
    return VectorXd(VectorXd::Constant(1, 1e4 * std::sin(37.0 * ++calls) + 0.0 * point[0]));
  };
  ImplicitStepper stepper(wild, kPeriodS, 1);
  stepper.set_scales(VectorXd::Constant(1, 0.01), VectorXd::Constant(1, 100.0));
  DriftPoint at{0.0, VectorXd::Constant(1, 1.0), VectorXd::Constant(1, 0.0)};
  EXPECT_FALSE(stepper.step(at, 1.0));
}

}  // namespace
}  // namespace firstglow::sim
