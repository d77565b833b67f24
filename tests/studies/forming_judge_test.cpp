#include "sim/studies/forming_judge.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdlib>
#include <string>

#include "tests/studies/forming_synthetic.hpp"

namespace firstglow::sim {
namespace {

using test::Fate;

/// 40 for every day; all 200: FIRSTGLOW_FORMING_LOGS=200.
int log_count() {
  const char* asked = std::getenv("FIRSTGLOW_FORMING_LOGS");
  return asked == nullptr ? 40 : std::max(std::atoi(asked), 1);
}

/// Other logs of the same kind: FIRSTGLOW_FORMING_SEED.
unsigned seed_shift() {
  const char* asked = std::getenv("FIRSTGLOW_FORMING_SEED");
  return asked == nullptr ? 0U : static_cast<unsigned>(std::atoi(asked));
}

/// 95 % of the whole number; so few as 40 scatter by two or three about their rate.
int least_right(int all) { return static_cast<int>(std::ceil((all < 200 ? 0.90 : 0.95) * all)); }

struct Tally {
  int right = 0, called_forming = 0, stop = 0, all = 0;
};

Tally tally(Fate fate, unsigned seed) {
  std::mt19937 random(seed + seed_shift());
  Tally found;
  for (int k = 0; k < log_count(); ++k) {
    const test::SyntheticLog log = test::synthetic_log(fate, random);
    const FormingAnswer answer = judge_forming(log.readings, log.facts).answer;
    const bool well = answer == FormingAnswer::forming || answer == FormingAnswer::formed;
    const bool right = fate == Fate::forming ? well
                       : fate == Fate::stuck ? answer == FormingAnswer::stuck
                                             : answer == FormingAnswer::stop;
    if (!right && std::getenv("FIRSTGLOW_SHOW_LOGS") != nullptr) {
      std::cout << "fate " << static_cast<int>(fate) << " called " << to_words(answer) << ", limit "
                << log.facts.limit_a << ", resistor " << log.facts.series_ohm.value_or(0.0) << ":";
      for (const core::FormingReading& reading : log.readings) {
        std::cout << " " << reading.time.si() << "s " << reading.current.si();
      }
      std::cout << "\n";
      for (const std::string& why : judge_forming(log.readings, log.facts).why) {
        std::cout << "    " << why << "\n";
      }
    }
    found.right += right ? 1 : 0;
    found.called_forming += well ? 1 : 0;
    found.stop += answer == FormingAnswer::stop ? 1 : 0;
    ++found.all;
  }
  return found;
}

// The model that makes these logs is the one the judge fits, with noise, unknown resistors and a
// wrong thermal resistance: what is shown is that the method finds what is there, not that cans
// follow the model.
TEST(FormingJudge, IsRightInNineteenOfTwentySyntheticLogs) {
  for (const Fate fate : {Fate::forming, Fate::stuck, Fate::failing}) {
    const Tally found = tally(fate, 7U + static_cast<unsigned>(fate));
    const std::string words = "fate " + std::to_string(static_cast<int>(fate)) + ": " +
                              std::to_string(found.right) + " right, " +
                              std::to_string(found.called_forming) + " called forming, " +
                              std::to_string(found.stop) + " stop, of " + std::to_string(found.all);
    std::cout << words << "\n";
    EXPECT_GE(found.right, least_right(found.all)) << words;
    if (fate == Fate::failing) {
      EXPECT_EQ(found.called_forming, 0) << words;
    }
  }
}

// Before its current turns, a failing can looks like one that will not get there at best.
TEST(FormingJudge, NeverCallsAFailingCanFormingBeforeItTurns) {
  std::mt19937 random(11 + seed_shift());
  int called = 0;
  for (int k = 0; k < log_count(); ++k) {
    const test::SyntheticLog log = test::early_failing_log(random);
    const FormingAnswer answer = judge_forming(log.readings, log.facts).answer;
    called += answer == FormingAnswer::forming || answer == FormingAnswer::formed ? 1 : 0;
  }
  std::cout << called << " of " << log_count() << " early failing logs called forming\n";
  EXPECT_EQ(called, 0);
}

core::FormingReading reading(double minutes, double milliamps) {
  core::FormingReading one;
  one.time = core::Seconds(60.0 * minutes);
  one.current = core::Amps(1e-3 * milliamps);
  return one;
}

FormingFacts facts(double limit_ma) {
  FormingFacts known;
  known.limit_a = 1e-3 * limit_ma;
  known.rated_v = 450.0;
  known.runaway_a = 1.0;
  known.thermal_k_per_w = 10.0;
  return known;
}

TEST(FormingJudge, SaysNothingOfThreeReadings) {
  const auto found = judge_forming({reading(1, 3), reading(5, 2), reading(10, 1.5)}, facts(1.0));
  EXPECT_EQ(found.answer, FormingAnswer::too_few);
  EXPECT_EQ(found.confidence, 0.0);
}

// i = 6 mA min/(t + 1 min), 3 mA to 0.545 mA: 0.5 mA is there at 11 min, one minute later.
TEST(FormingJudge, ReadsTheTimeToGoOffAHyperbola) {
  std::vector<core::FormingReading> readings;
  for (const double minutes : {1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0}) {
    readings.push_back(reading(minutes, 6.0 / (minutes + 1.0)));
  }
  const auto found = judge_forming(readings, facts(0.5));
  EXPECT_EQ(found.answer, FormingAnswer::forming);
  ASSERT_TRUE(found.to_go_s.has_value());
  EXPECT_NEAR(found.to_go_s->middle, 60.0, 25.0);
}

TEST(FormingJudge, TakesFourReadingsAndSaysSo) {
  const auto found = judge_forming(
      {reading(1, 3), reading(5, 1), reading(10, 0.55), reading(20, 0.29)}, facts(0.2));
  EXPECT_EQ(found.answer, FormingAnswer::forming);
  EXPECT_LE(found.confidence, 0.8);
  EXPECT_NE(found.why.back().find("Only 4 readings"), std::string::npos);
}

// 4 % above the lowest of four readings may be noise or the start of a rise.
TEST(FormingJudge, DoesNotCallFewReadingsFormedWhenTheLastIsHigher) {
  const auto found = judge_forming(
      {reading(1, 1.35), reading(3, 0.33), reading(12, 0.0713), reading(40, 0.0744)}, facts(0.08));
  EXPECT_EQ(found.answer, FormingAnswer::too_few);
}

TEST(FormingJudge, KnowsACurrentThatStandsStill) {
  std::vector<core::FormingReading> readings;
  readings.reserve(8);
  for (int k = 0; k < 8; ++k) {
    readings.push_back(reading(5.0 * (k + 1), k % 2 == 0 ? 3.02 : 2.98));
  }
  EXPECT_EQ(judge_forming(readings, facts(1.0)).answer, FormingAnswer::stuck);
}

TEST(FormingJudge, StopsAtARise) {
  const auto found = judge_forming({reading(1, 4), reading(5, 2), reading(10, 1.5),
                                    reading(20, 1.6), reading(30, 1.9), reading(40, 2.4)},
                                   facts(1.0));
  EXPECT_EQ(found.answer, FormingAnswer::stop);
  ASSERT_TRUE(found.rise.has_value());
}

TEST(FormingJudge, StopsOverTheCeilingAndAtAWarmCan) {
  std::vector<core::FormingReading> readings{reading(1, 4), reading(5, 2), reading(10, 1.5),
                                             reading(20, 1.2)};
  FormingFacts known = facts(1.0);
  known.ceiling_a = 1.1e-3;
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::stop);
  known.ceiling_a.reset();
  readings[0].can = core::Kelvin(295.0);
  readings[3].can = core::Kelvin(311.0);
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::stop);
}

// A can that was felt for half an hour and stayed cool overrules an assumed size.
TEST(FormingJudge, TrustsAMeasuredTemperature) {
  std::vector<core::FormingReading> readings{reading(1, 4), reading(10, 2.5), reading(20, 2.0),
                                             reading(30, 1.7), reading(45, 1.4)};
  FormingFacts known = facts(1.0);
  known.thermal_k_per_w = 100.0;
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::stop);
  readings.front().can = core::Kelvin(295.0);
  readings.back().can = core::Kelvin(298.0);
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::forming);
}

TEST(FormingJudge, KnowsACanThatIsThere) {
  const auto found = judge_forming(
      {reading(1, 3), reading(5, 1), reading(10, 0.55), reading(20, 0.29)}, facts(0.5));
  EXPECT_EQ(found.answer, FormingAnswer::formed);
  EXPECT_GT(found.confidence, 0.75);
}

// A step of the supply begins a new judgement; 1 % of drift does not.
TEST(FormingJudge, JudgesTheLastStep) {
  std::vector<core::FormingReading> readings{reading(1, 3), reading(5, 1), reading(10, 0.5),
                                             reading(11, 4), reading(20, 2)};
  const std::array supply_v{300.0, 301.0, 302.0, 350.0, 351.0};
  for (std::size_t k = 0; k < readings.size(); ++k) {
    readings[k].supply = core::Volts(supply_v[k]);
  }
  std::size_t left_out = 0;
  const FormingSeries series = last_step(readings, left_out);
  EXPECT_EQ(left_out, 3U);
  EXPECT_EQ(series.amps.size(), 2U);
}

// A leakage that stays and would warm the can by more than 15 K.
TEST(FormingJudge, StopsWhenTheCanWouldBecomeHot) {
  std::vector<core::FormingReading> readings;
  for (const double minutes : {1.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0}) {
    readings.push_back(reading(minutes, 2.0 + 3.0 / (minutes + 1.0)));
  }
  FormingFacts known = facts(2.5);
  known.limit_a = 1.5e-3;
  known.thermal_k_per_w = 30.0;  // 450 V x 2 mA x 30 K/W = 27 K
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::stop);
  known.thermal_k_per_w = 10.0;  // 9 K
  EXPECT_EQ(judge_forming(readings, known).answer, FormingAnswer::stuck);
}

}  // namespace
}  // namespace firstglow::sim
