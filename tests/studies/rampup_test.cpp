#include "sim/studies/rampup.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/rampup_lamps.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

const RampupResult& demo_rampup() {
  static const RampupResult kResult = [] {
    WorkerPool pool({2, {}});
    RampupOptions options;
    options.steps_vrms = {30.0, 120.0};
    return rampup(demo(), options, pool);
  }();
  return kResult;
}

const RampPass& pass_of(Stage stage, bool with_lamp) {
  for (const RampPass& pass : demo_rampup().passes) {
    if (pass.stage == stage && pass.with_lamp == with_lamp) {
      return pass;
    }
  }
  throw core::ContractError("no such pass");
}

const NodeReading& node_of(const RampStep& step, const std::string& name) {
  for (const NodeReading& node : step.nodes) {
    if (node.node == name) {
      return node;
    }
  }
  throw core::ContractError("no such node");
}

TEST(Rampup, MakesAPassWithAndWithoutLampForEveryStage) {
  EXPECT_EQ(demo_rampup().passes.size(), 2 * netlists::stages_of(demo()).size());
  for (const RampPass& pass : demo_rampup().passes) {
    ASSERT_EQ(pass.steps.size(), 2U);
    for (const RampStep& step : pass.steps) {
      EXPECT_TRUE(step.failure.empty()) << step.failure;
      EXPECT_EQ(step.lamp.has_value(), pass.with_lamp);
    }
  }
}

/// The transformer alone draws its recorded no-load current and watts at the volts it was measured
/// at: at 120 V instead of 117 V, linear core, that is 120/117 of 200 mA and its square of 10.5 W.
TEST(Rampup, TransformerAloneDrawsItsNoLoadReadings) {
  const RampStep& step = pass_of(Stage::transformer, false).steps.back();
  const double share = 120.0 / 117.0;
  EXPECT_NEAR(step.mains_a.nominal, 0.200 * share, 0.002);
  EXPECT_NEAR(step.mains_w.nominal, 10.5 * share * share, 0.1);
}

/// Choke input with the bleeder alone stays below critical current: B+ lies well above 0.9 of the
/// half-winding's rms volts and below its peak (by hand: 554 V and 870 V at 120 V).
TEST(Rampup, TubesOutBplusLiesBetweenMeanAndPeak) {
  const NodeReading& plus = node_of(pass_of(Stage::tubes_out, false).steps.back(), "B+");
  EXPECT_GT(plus.dc_v.nominal, 0.9 * 600.0 * 120.0 / 117.0 * 1.02);
  EXPECT_LT(plus.dc_v.nominal, 600.0 * 120.0 / 117.0 * 1.414);
  EXPECT_TRUE(plus.main_dc);
}

/// Loaded past the critical current it is the mean less the drops: 2 Vm / pi less R I.
TEST(Rampup, KeyDownBplusIsTheMeanLessTheDrops) {
  const RampStep& step = pass_of(Stage::key_down, false).steps.back();
  const NodeReading& plus = node_of(step, "B+");
  const double mean_v = 0.9003 * 600.0 * 120.0 / 117.0;  // no-load mean of the winding
  EXPECT_LT(plus.dc_v.nominal, mean_v);
  EXPECT_GT(plus.dc_v.nominal, 0.90 * mean_v);
}

TEST(Rampup, BandsHoldTheNominal) {
  for (const RampPass& pass : demo_rampup().passes) {
    for (const RampStep& step : pass.steps) {
      for (const NodeReading& node : step.nodes) {
        EXPECT_LE(node.dc_v.low, node.dc_v.nominal + 1e-12);
        EXPECT_GE(node.dc_v.high, node.dc_v.nominal - 1e-12);
      }
      EXPECT_LE(step.mains_a.low, step.mains_a.nominal);
      EXPECT_GE(step.mains_a.high, step.mains_a.nominal);
    }
  }
}

/// B+ over mains volts is the same to a few per cent on the steps of one stage with tubes out.
TEST(Rampup, RatioToTheMainsHoldsOverTheLadder) {
  const RampPass& pass = pass_of(Stage::tubes_out, false);
  const double low = node_of(pass.steps.front(), "B+").per_mains_volt.nominal;
  const double full = node_of(pass.steps.back(), "B+").per_mains_volt.nominal;
  EXPECT_NEAR(low, full, 0.02 * full);
}

/// Equalisers of 51.2k over 49.6k, by hand: MID sits at 49.6 / 100.8 = 49.2 % of B+; the cans'
/// leakage moves it little.
TEST(Rampup, MidpointFollowsTheEqualisers) {
  const RampStep& step = pass_of(Stage::tubes_out, false).steps.back();
  ASSERT_EQ(step.midpoints.size(), 1U);
  EXPECT_EQ(step.midpoints[0].node, "MID");
  EXPECT_NEAR(step.midpoints[0].fraction.nominal, 49.6 / 100.8, 0.003);
}

TEST(Rampup, GivesStopLimitsOutsideTheBand) {
  const RampStep& step = pass_of(Stage::tubes_out, true).steps.back();
  ASSERT_GE(step.stop_if.size(), 4U);
  for (const StopIf& stop : step.stop_if) {
    EXPECT_TRUE(stop.below || stop.above) << stop.reading;
    EXPECT_FALSE(stop.why.empty());
  }
  EXPECT_GT(step.stop_if[0].above.value_or(0.0), step.mains_a.nominal);
}

/// One lamp is suggested per stage: dim when good, bright on a short.
TEST(Rampup, SuggestsALampThatIsDimWhenGoodAndBrightOnAShort) {
  int suggested = 0;
  for (const LampAdvice& lamp : demo_rampup().lamps) {
    EXPECT_GT(lamp.short_percent, lamp.good_percent);
    if (lamp.suggested) {
      ++suggested;
      EXPECT_GT(lamp.short_percent, 80.0);
    }
  }
  EXPECT_EQ(suggested, static_cast<int>(netlists::stages_of(demo()).size()));
}

/// A smaller lamp glows brighter on the same rig.
TEST(Rampup, ASmallerLampGlowsBrighter) {
  const std::vector<LampAdvice>& lamps = demo_rampup().lamps;
  for (std::size_t i = 1; i < lamps.size(); ++i) {
    if (lamps[i].stage == lamps[i - 1].stage) {
      EXPECT_LT(lamps[i].good_percent, lamps[i - 1].good_percent);
    }
  }
}

/// Bleeder at the highest step of the ladder: V^2 / R by hand.
TEST(Rampup, DissipationIsVoltsSquaredOverOhms) {
  const RampStep& step = pass_of(Stage::tubes_out, false).steps.back();
  const double volts = node_of(step, "B+").dc_v.nominal;
  for (const PartHeat& heat : step.heats) {
    if (heat.part == "R3") {
      EXPECT_NEAR(heat.watts.nominal, volts * volts / 25e3, 0.01 * heat.watts.nominal);
      EXPECT_EQ(heat.rated_watts, 25.0);
    }
  }
}

TEST(DefaultLadder, EndsAtTheNominalLine) {
  EXPECT_EQ(default_ladder_vrms(demo()),
            (std::vector<double>{10, 20, 30, 45, 60, 75, 90, 105, 120}));
}

TEST(DefaultLadder, IsDoubledOnATwoThirtyVoltLine) {
  test::RigMaker maker;
  maker.mains(230.0, 50.0, 0.3);
  EXPECT_EQ(default_ladder_vrms(maker.rig()),
            (std::vector<double>{20, 40, 60, 90, 120, 150, 180, 210, 230}));
  EXPECT_EQ(lamp_volts_for(maker.rig()), core::RmsVolts(230.0));
}

TEST(Rampup, DoesNotDependOnTheNumberOfWorkers) {
  test::RigMaker maker = test::small_supply();
  RampupOptions options;
  options.steps_vrms = {60.0};
  WorkerPool one({1, {}});
  WorkerPool three({3, {}});
  const RampupResult a = rampup(maker.rig(), options, one);
  const RampupResult b = rampup(maker.rig(), options, three);
  ASSERT_EQ(a.passes.size(), b.passes.size());
  for (std::size_t i = 0; i < a.passes.size(); ++i) {
    EXPECT_EQ(a.passes[i].steps[0].mains_a.nominal, b.passes[i].steps[0].mains_a.nominal);
    EXPECT_EQ(a.passes[i].steps[0].nodes.back().dc_v.high,
              b.passes[i].steps[0].nodes.back().dc_v.high);
  }
}

}  // namespace
}  // namespace firstglow::sim
