#include "sim/studies/switch_on_time.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "core/rig_reader.hpp"

namespace firstglow::sim {
namespace {

core::Rig scenario(const std::string& name) {
  return core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/" + name + "/rig.yaml");
}

Stress peak_at(double at_s, double volts) {
  Stress stress;
  stress.part = 3;
  stress.rule = StressRule::capacitor_surge_volts;
  stress.value = volts;
  stress.at_s = at_s;
  return stress;
}

/// Wrenfield: cans -10/+50 %, choke 15 %: 0.05 s x 1.1 sqrt(1.5 x 1.15) and three cycles of 60 Hz.
TEST(SwitchOnTime, CoversTheSwingOfTheWidestTolerances) {
  EXPECT_NEAR(brief_switch_on_s(scenario("wrenfield-75"), {peak_at(0.05, 600.0)}, {}, 0.6),
              0.05 * 1.1 * std::sqrt(1.5 * 1.15) + 3.0 / 60.0, 1e-9);
}

/// A late peak counts like any other, unless a steady state goes as far: by itself a late peak of
/// 600 V; not with 600 V steady; again with 599 V steady, or when the 600 V came in a transient.
TEST(SwitchOnTime, IgnoresOnlyWhatASteadyStateCovers) {
  const core::Rig rig = scenario("wrenfield-75");
  const StressKey key{3, 0, StressRule::capacitor_working_volts};
  const auto brief_s = [&](const std::map<StressKey, WorstStress>& worst) {
    return brief_switch_on_s(rig, {peak_at(0.59, 600.0)}, worst, 0.6);
  };
  EXPECT_EQ(brief_s({}), 0.6);
  EXPECT_NEAR(brief_s({{key, WorstStress{600.0, 0.0, false, {}}}}), 3.0 / 60.0, 1e-9);
  EXPECT_EQ(brief_s({{key, WorstStress{599.0, 0.0, false, {}}}}), 0.6);
  EXPECT_EQ(brief_s({{key, WorstStress{600.0, 0.0, true, {}}}}), 0.6);
}

/// A peak in the last quarter of a run need not be the last one, unless a steady state covers it.
TEST(SwitchOnTime, DoubtsAPeakNearTheEndOfARun) {
  const StressKey key{3, 0, StressRule::capacitor_working_volts};
  const std::map<StressKey, WorstStress> as_high{{key, WorstStress{600.0, 0.0, false, {}}}};
  const std::map<StressKey, WorstStress> lower{{key, WorstStress{599.0, 0.0, false, {}}}};
  EXPECT_TRUE(swings_are_over({peak_at(0.07, 600.0)}, {}, 0.1));
  EXPECT_FALSE(swings_are_over({peak_at(0.03, 600.0), peak_at(0.08, 600.0)}, {}, 0.1));
  EXPECT_FALSE(swings_are_over({peak_at(0.08, 600.0)}, lower, 0.1));
  EXPECT_TRUE(swings_are_over({peak_at(0.08, 600.0)}, as_high, 0.1));
}

/// The relay of a step start closes long after the first peak: nothing is cut short.
TEST(SwitchOnTime, FollowsAStepStartToTheEnd) {
  const core::Rig rig = scenario("saltmarsh-kw");
  ASSERT_TRUE(has_step_start(rig));
  EXPECT_EQ(brief_switch_on_s(rig, {peak_at(0.02, 600.0)}, {}, 3.3), 3.3);
  EXPECT_FALSE(has_step_start(scenario("wrenfield-75")));
}

}  // namespace
}  // namespace firstglow::sim
