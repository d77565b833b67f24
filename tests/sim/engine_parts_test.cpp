#include <gtest/gtest.h>

#include <cmath>

#include "sim/engine/solver_lines.hpp"
#include "sim/engine/spike_check.hpp"

namespace firstglow::sim {
namespace {

/// Pulse of 1 A peak in a quarter of 200 points 83 us apart.
struct Pulse {
  std::vector<double> time_s, amps, volts;
  Pulse() {
    for (int i = 0; i < 200; ++i) {
      time_s.push_back(i * 83e-6);
      amps.push_back(i < 50 ? std::sin(i * 3.14159 / 50) : 0.0);
      volts.push_back(i < 50 ? 0.9 : -600.0);
    }
  }
  [[nodiscard]] bool spike(double junction_f = 0.0) const {
    return has_spike({1, 2, 1e-9, 1.8, 5.0, junction_f}, time_s, {&amps, &volts}, 3000.0);
  }
};

TEST(SpikeCheck, PassesACleanPulseAndATurnOffOfAFewPercent) {
  Pulse pulse;
  EXPECT_FALSE(pulse.spike());
  pulse.amps[50] = -0.05;
  EXPECT_FALSE(pulse.spike());
}

TEST(SpikeCheck, FindsRingingAtTheTurnOff) {
  Pulse pulse;
  pulse.amps[50] = -0.8;
  pulse.amps[51] = 0.7;
  EXPECT_TRUE(pulse.spike());
}

// 3000 V over 5 ohm is 600 A.
TEST(SpikeCheck, FindsForwardCurrentNoVoltageCouldDrive) {
  Pulse pulse;
  pulse.amps[20] = 590.0;
  EXPECT_FALSE(pulse.spike());
  pulse.amps[20] = 610.0;
  EXPECT_TRUE(pulse.spike());
}

// 600 V in 83 us through 3 x 1 uF may carry 22 A backwards.
TEST(SpikeCheck, AllowsTheCurrentOfTheJunctionCapacitance) {
  Pulse pulse;
  pulse.amps[50] = -7.0;
  EXPECT_TRUE(pulse.spike());
  EXPECT_FALSE(pulse.spike(1e-6));
}

TEST(SolverLines, FindTheBlamedNodeOrElement) {
  EXPECT_EQ(failing_name({"stderr Warning: singular matrix:  check node v1#branch", "x"}),
            "v1#branch");
  EXPECT_EQ(failing_name({"stderr doAnalyses: TRAN:  Timestep too small; time = 1e-15, timestep = "
                          "1.25e-26: trouble with node \"n12\""}),
            "n12");
  EXPECT_EQ(failing_name({"stderr trouble with m1:d7"}), "d7");
  EXPECT_EQ(failing_name({"stdout No. of Data Rows : 40"}), "");
}

}  // namespace
}  // namespace firstglow::sim
