#include "sim/studies/clock.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "core/rig_reader.hpp"
#include "sim/studies/clock_curve.hpp"
#include "sim/studies/clock_match.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::sim {
namespace {

/// One capacitor of 47 uF and one bleeder of 47 kohm, both within 5 %.
core::Rig small_rig() {
  std::string text = core::small_record();
  text = core::edited(text, "value: 47u, ", "value: 47u, tolerance: 5 %, ");
  text = core::edited(text, "value: 47k, ", "value: 47k, tolerance: 5 %, ");
  return core::read_rig_text(text, "rig.yaml");
}

constexpr double kMeterOhm = 10e6;

double parallel(double a, double b) { return a * b / (a + b); }

/// 400 V falling as exp(-t/(R C)), read at `times`.
std::vector<ClockReading> readings(double rc_s, const std::vector<double>& times) {
  std::vector<ClockReading> all;
  all.reserve(times.size());
  for (const double time_s : times) {
    all.push_back({time_s, 400.0 * std::exp(-time_s / rc_s)});
  }
  return all;
}

ClockResult clock_of(const core::Rig& rig, const std::vector<ClockReading>& read,
                     const std::string& part = "") {
  WorkerPool pool(PoolOptions{2, ""});
  ClockOptions options;
  options.readings = read;
  options.hand_s = 0.1;  // a watch that starts with the switch
  options.part = part;
  return clock_test(rig, options, pool);
}

// t = R C ln(V_0/V): 500 V to 50 V on 40 uF and 25 kohm takes 2.30 s, so RC is 1 s; by hand.
TEST(EffectiveRc, IsTimeOverTheLogarithm) {
  EXPECT_NEAR(*effective_rc({0.0, std::log(10.0)}, {500.0, 50.0}), 1.0, 1e-9);
  EXPECT_NEAR(*effective_rc({1.0, 3.0, 7.0}, {std::exp(-0.5), std::exp(-1.5), std::exp(-3.5)}), 2.0,
              1e-9);
  EXPECT_FALSE(effective_rc({0.0, 1.0}, {50.0, 50.0}).has_value());
}

TEST(LowestPoint, FindsAValley) {
  EXPECT_NEAR(lowest_point([](double x) { return (x - 0.3) * (x - 0.3); }, -1.0, 2.0), 0.3, 1e-5);
  EXPECT_NEAR(lowest_point([](double x) { return x; }, -1.0, 2.0), -1.0, 1e-5);
}

// A clock that runs 10 % slow in the shape is found as a stretch of 1.1.
TEST(MatchFall, StretchesTimeWithinItsRoom) {
  const FallShape shape = [](const std::vector<double>& time_s) {
    std::vector<double> volts;
    volts.reserve(time_s.size());
    for (const double t : time_s) {
      volts.push_back(std::exp(-t));
    }
    return volts;
  };
  const ClockData data{
      {0.0, 1.1, 2.2}, {80.0, 80.0 * std::exp(-1.0), 80.0 * std::exp(-2.0)}, {0.01, 0.01, 0.01}};
  const ClockMatch wide = match_fall(data, shape, {0.0, 0.5});
  EXPECT_NEAR(wide.stretch, 1.1, 0.001);
  EXPECT_LT(wide.off, 0.1);
  EXPECT_GT(match_fall(data, shape, {0.0, 0.0}).off, 50.0);
}

TEST(Clock, KnowsTheIntactRig) {
  const ClockResult found =
      clock_of(small_rig(), readings(47e-6 * parallel(47e3, kMeterOhm), {0.0, 2.0, 5.0}));
  EXPECT_EQ(found.fits.front().name, "intact");
  EXPECT_FALSE(found.fits.front().tie);
  EXPECT_EQ(found.findings.front().verdict, core::Verdict::safe);
  // 5 % of each: RC from 0.9025 to 1.1025 times nominal, the meter aside; by hand.
  EXPECT_NEAR(found.intact_rc_s.nominal, 47e-6 * parallel(47e3, kMeterOhm), 0.01);
  EXPECT_NEAR(found.intact_rc_s.low / found.intact_rc_s.nominal, 0.9025, 0.003);
  EXPECT_NEAR(found.intact_rc_s.high / found.intact_rc_s.nominal, 1.1025, 0.003);
}

TEST(Clock, KnowsAnOpenBleeder) {
  const ClockResult found = clock_of(small_rig(), readings(47e-6 * kMeterOhm, {0.0, 60.0, 300.0}));
  EXPECT_EQ(found.fits.front().name, "R1 open");
  EXPECT_EQ(found.findings.front().verdict, core::Verdict::unsafe);
}

TEST(Clock, SaysHowFarABleederHasDrifted) {
  const ClockResult found =
      clock_of(small_rig(), readings(47e-6 * parallel(2.0 * 47e3, kMeterOhm), {0.0, 4.0, 12.0}));
  EXPECT_EQ(found.fits.front().name, "R1 drifted");
  ASSERT_TRUE(found.fits.front().factor.has_value());
  EXPECT_NEAR(*found.fits.front().factor, 2.0, 0.1);
  EXPECT_EQ(found.findings.front().verdict, core::Verdict::unsafe);
}

TEST(Clock, KnowsACanThatHasLostHalf) {
  const ClockResult found =
      clock_of(small_rig(), readings(23.5e-6 * parallel(47e3, kMeterOhm), {0.0, 1.0, 4.0}));
  EXPECT_EQ(found.fits.front().name, "C1 low");
  EXPECT_NEAR(*found.fits.front().factor, 0.5, 0.05);
}

// Seconds to 50 V alone: the start is predicted.
TEST(Clock, TakesOneReadingWithAPredictedStart) {
  const core::Rig rig = small_rig();
  const double rc_s = 47e-6 * kMeterOhm;
  const ClockResult found = clock_of(rig, {{rc_s * std::log(410.0 / 50.0), 50.0}});
  EXPECT_TRUE(found.start_predicted);
  EXPECT_EQ(found.fits.front().name, "R1 open");
}

// An equaliser open in a stack, read across its own can: the fall that is put in is the exact one
// with R2 out (checked against the engine by the tests of the discharge), read to 1 %.
TEST(Clock, NamesAnOpenEqualiserAcrossItsOwnCan) {
  const core::Rig rig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  std::vector<ClockReading> read;
  {
    WorkerPool pool(PoolOptions{1, ""});
    pool.for_each(1, [&](Engine& engine, std::size_t) {
      const auto& can = std::get<core::Capacitor>(rig.find("C2")->data);
      const ClockCurve curve(engine, rig, {can.plus, can.minus, kMeterOhm}, "R2");
      const std::vector<double> times{0.0, 2.0, 6.0, 15.0};
      const std::vector<double> volts = curve.fall()(times);
      for (std::size_t k = 0; k < times.size(); ++k) {
        read.push_back({times[k], volts[k] * (k % 2 == 0 ? 1.01 : 0.99)});
      }
    });
  }
  const ClockResult found = clock_of(rig, read, "C2");
  EXPECT_EQ(found.fits.front().name, "R2 open");
  EXPECT_EQ(found.findings.front().verdict, core::Verdict::unsafe);
}

// Bias bleeders are another island: from B+ nobody can say whether they are there.
TEST(Clock, ListsWhatCannotBeSeenFromThere) {
  const core::Rig rig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  const ClockResult found = clock_of(rig, {{0.0, 600.0}, {1.0, 50.0}});
  const auto bias = std::find_if(found.fits.begin(), found.fits.end(),
                                 [](const ClockFit& fit) { return fit.name == "R6 open"; });
  ASSERT_NE(bias, found.fits.end());
  EXPECT_FALSE(bias->seen);
  EXPECT_FALSE(bias->fits);
}

}  // namespace
}  // namespace firstglow::sim
