// The ladder in time, against what other ways of looking at the same rig say.
#include "sim/studies/course.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/rig_reader.hpp"
#include "sim/studies/rampup.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

core::Rig scenario(const std::string& name) {
  return core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/" + name + "/rig.yaml");
}

CourseResult course_of(const core::Rig& rig, const CourseOptions& options) {
  WorkerPool pool(PoolOptions{2, ""});
  return course(rig, options, pool);
}

std::size_t index_of(const std::vector<std::string>& names, const std::string& name) {
  const auto found = std::find(names.begin(), names.end(), name);
  EXPECT_NE(found, names.end()) << name;
  return static_cast<std::size_t>(found - names.begin());
}

double volts_at(const CourseResult& result, const CourseReading& reading, const std::string& node) {
  return reading.nodes.at(index_of(result.nodes, node)).value().mean_v;
}

const CourseReading& last_of(const CourseResult& result, const CourseStep& step) {
  const auto after =
      std::find_if(result.readings.begin(), result.readings.end(),
                   [&](const CourseReading& reading) { return reading.time_s >= step.end_s; });
  return *(after - 1);
}

// rampup finds the same steady states by Newton's method from cycle to cycle, without any course;
// lamp in, so that a slow state counts too. 0.5 %: the can of the bias supply still moves a little.
TEST(Course, EndsEachStepWhereRampupSaysTheMetersStand) {
  const core::Rig rig = scenario("wrenfield-75");
  CourseOptions options;
  options.steps_vrms = {60.0, 120.0};
  options.lamp = netlists::LampInSeries{core::Watts(60.0), core::RmsVolts(120.0)};
  options.dwell_s = 60.0;
  options.off_s = 5.0;  // a circuit of fewer states behind one with a lamp
  const CourseResult result = course_of(rig, options);
  RampupOptions ladder;
  ladder.steps_vrms = options.steps_vrms;
  ladder.stages = {Stage::tubes_out};
  ladder.lamp = options.lamp;
  ladder.without_lamp = false;
  WorkerPool pool(PoolOptions{2, ""});
  const RampPass pass = rampup(rig, ladder, pool).passes.at(0);
  ASSERT_EQ(result.steps.size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    const CourseReading& end = last_of(result, result.steps[i]);
    EXPECT_NEAR(end.mains_a, pass.steps[i].mains_a.nominal, 0.005 * end.mains_a);
    EXPECT_NEAR(end.lamp_w, pass.steps[i].lamp->watts.nominal, 0.01 * end.lamp_w);
    for (const NodeReading& node : pass.steps[i].nodes) {
      if (node.main_dc) {
        EXPECT_NEAR(volts_at(result, end, node.node), node.dc_v.nominal,
                    0.005 * std::abs(node.dc_v.nominal))
            << node.node;
      }
    }
  }
  EXPECT_TRUE(result.steps[1].settled_s.has_value());
  EXPECT_LT(volts_at(result, result.readings.back(), "B+"),
            0.1 * volts_at(result, last_of(result, result.steps[1]), "B+"));
}

// 10 uF on 50 kohm: R C = 0.5 s. By hand from the volts at the plug: exp(-1 s / 0.5 s) = 0.135.
TEST(Course, FallsByTheTimeConstantAfterThePlugIsOut) {
  CourseOptions options;
  options.steps_vrms = {120.0};
  options.dwell_s = 10.0;
  options.off_s = 3.0;
  options.every_s = 1.0;
  const CourseResult result = course_of(test::small_supply().rig(), options);
  std::vector<double> off_v;
  for (const CourseReading& reading : result.readings) {
    if (reading.dial_vrms == 0.0 && reading.time_s > result.off_at_s + 0.5) {
      off_v.push_back(volts_at(result, reading, "B+"));
    }
  }
  ASSERT_GE(off_v.size(), 2U);
  EXPECT_NEAR(off_v[1] / off_v[0], std::exp(-2.0), 0.002);
}

// A directly heated rectifier: nothing before its warm-up, then the volts; and never on 45 V, where
// its heater has too little.
TEST(Course, TubeRectifierComesInAfterItsWarmUp) {
  CourseOptions options;
  options.steps_vrms = {45.0, 120.0};
  options.dwell_s = 20.0;
  options.every_s = 1.0;
  options.off_s = 0.0;
  const CourseResult result = course_of(scenario("tolland-75"), options);
  ASSERT_EQ(result.steps.size(), 2U);
  ASSERT_EQ(result.steps[1].remarks.size(), 1U);
  for (const CourseReading& reading : result.readings) {
    const double volts = volts_at(result, reading, "B+");
    if (reading.time_s < result.steps[1].start_s + 2.0) {
      EXPECT_LT(volts, 5.0) << reading.time_s;
    } else if (reading.time_s > result.steps[1].start_s + 15.0) {
      EXPECT_GT(volts, 300.0) << reading.time_s;
    }
  }
}

TEST(Course, CapacitorOverItsWorkingVoltsIsUnsafe) {
  core::Rig rig = test::small_supply().rig();
  for (core::Part& part : rig.parts) {
    if (auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      capacitor->working_volts = core::Volts(300.0);  // the supply gives some 420 V
    }
  }
  CourseOptions options;
  options.steps_vrms = {60.0, 120.0};
  options.dwell_s = 5.0;
  options.off_s = 0.0;
  EXPECT_EQ(core::worst_verdict(course_of(rig, options).findings), core::Verdict::unsafe);
  options.steps_vrms = {60.0};
  EXPECT_EQ(core::worst_verdict(course_of(rig, options).findings), core::Verdict::safe);
}

}  // namespace
}  // namespace firstglow::sim
