#include "sim/envelope/waveform_figures.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

/// DC + sine over one cycle, on 200 uneven points.
struct Wave {
  std::vector<double> time_s, value;
  Wave(double dc, double peak) {
    for (int i = 0; i <= 200; ++i) {
      const double x = i / 200.0;
      const double t = x + 0.001 * std::sin(2.0 * std::numbers::pi * x);
      time_s.push_back(t);
      value.push_back(dc + peak * std::sin(2.0 * std::numbers::pi * t));
    }
  }
};

// The mean of DC plus a whole cycle of sine is the DC.
TEST(WaveformFigures, MeanIsTheDirectPart) {
  const Wave wave(5.0, 3.0);
  EXPECT_NEAR(mean_of({wave.time_s, wave.value}), 5.0, 1e-3);
}

// RMS of DC plus sine: sqrt(dc^2 + peak^2 / 2).
TEST(WaveformFigures, RmsAddsSquares) {
  const Wave wave(5.0, 3.0);
  EXPECT_NEAR(rms_of({wave.time_s, wave.value}), std::sqrt(25.0 + 4.5), 3e-3);
}

// The AC part of it alone: peak / sqrt 2.
TEST(WaveformFigures, AlternatingRmsLeavesTheDirectPartOut) {
  const Wave wave(100.0, 3.0);
  EXPECT_NEAR(ac_rms_of({wave.time_s, wave.value}), 3.0 / std::numbers::sqrt2, 5e-3);
}

// A straight ramp 0..1 over 2 s: the square integrates to 2/3, exactly for straight pieces.
TEST(WaveformFigures, SquareIntegralIsExactForStraightPieces) {
  EXPECT_DOUBLE_EQ(square_integral_of({{0.0, 0.5, 2.0}, {0.0, 0.25, 1.0}}), 2.0 / 3.0);
}

// Power of 2 V and 3 A held: 6 W.
TEST(WaveformFigures, MeanProductIsThePower) {
  EXPECT_DOUBLE_EQ(mean_product_of({0.0, 1.0, 4.0}, {2.0, 2.0, 2.0}, {3.0, 3.0, 3.0}), 6.0);
}

// In-quadrature volts and amps give no watts.
TEST(WaveformFigures, QuadratureGivesNoPower) {
  std::vector<double> t;
  std::vector<double> v;
  std::vector<double> i;
  for (int k = 0; k <= 200; ++k) {
    t.push_back(k / 200.0);
    v.push_back(std::sin(2.0 * std::numbers::pi * k / 200.0));
    i.push_back(std::cos(2.0 * std::numbers::pi * k / 200.0));
  }
  EXPECT_NEAR(mean_product_of(t, v, i), 0.0, 1e-12);
}

TEST(WaveformFigures, PeakLooksAtBothSigns) {
  EXPECT_EQ(index_of_peak({1.0, -4.0, 3.0}), 1U);
  EXPECT_DOUBLE_EQ(peak_magnitude_of({1.0, -4.0, 3.0}), 4.0);
  EXPECT_DOUBLE_EQ(highest_of({1.0, -4.0, 3.0}), 3.0);
  EXPECT_DOUBLE_EQ(lowest_of({1.0, -4.0, 3.0}), -4.0);
}

TEST(WaveformFigures, OneSampleIsRefused) {
  EXPECT_THROW(static_cast<void>(mean_of({{0.0}, {1.0}})), core::ContractError);
}

}  // namespace
}  // namespace firstglow::sim
