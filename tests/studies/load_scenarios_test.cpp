// The scenarios of bias supply, dropped screen, regulated screen and clamp tube keep their lessons.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <string>

#include "core/rig_reader.hpp"
#include "sim/studies/margins.hpp"
#include "sim/studies/regulator_states.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

using core::Verdict;
using netlists::Stage;

WorkerPool& pool() {
  static WorkerPool two({2, {}});
  return two;
}

core::Rig rig_of(const std::string& name) {
  return core::read_rig_file(std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/" + name +
                             "/rig.yaml");
}

std::vector<core::Finding> margins_of(const core::Rig& rig) {
  MarginsOptions options;
  options.closing_angles = 4;
  return margins(rig, options, pool()).findings;
}

const std::vector<core::Finding>& findings_of(const std::string& name) {
  static std::map<std::string, std::vector<core::Finding>> known;
  const auto [place, fresh] = known.try_emplace(name);
  if (fresh) {
    place->second = margins_of(rig_of(name));
  }
  return place->second;
}

const core::Finding& finding(const std::vector<core::Finding>& all, const std::string& rule,
                             const std::string& part) {
  for (const core::Finding& each : all) {
    if (each.rule == rule && each.part == part) {
      return each;
    }
  }
  ADD_FAILURE() << "no finding " << rule << " of " << part;
  static const core::Finding kNone;
  return kNone;
}

/// DC volts of a node and the vr tubes lit, steady.
struct Reading {
  double volts = 0.0;
  std::set<int> lit;
};

Reading reading_of(const core::Rig& rig, const std::string& node, Stage stage, double line_v) {
  Reading reading;
  pool().for_each(1, [&](Engine& engine, std::size_t) {
    SteadyRunner runner(engine, rig);
    netlists::Situation situation;
    situation.stage = stage;
    situation.line = core::RmsVolts(line_v);
    const SteadyRun run = runner.run(situation);
    reading.lit = run.cycle.built().lit;
    for (std::size_t i = 0; i < rig.nodes.size(); ++i) {
      if (rig.nodes[i].name == node) {
        const std::vector<double>& volts = run.cycle.node_v(static_cast<core::NodeIndex>(i));
        double sum = 0.0;
        for (const double v : volts) {
          sum += v;
        }
        reading.volts = sum / static_cast<double>(volts.size());
      }
    }
  });
  return reading;
}

void set_ohms(core::Rig& rig, const std::string& name, double ohms) {
  for (core::Part& part : rig.parts) {
    if (part.designator == name) {
      std::get<core::Resistor>(part.data).value.marked = core::Ohms(ohms);
    }
  }
}

// ---- bias supply driven backwards -------------------------------------------------------------

// By hand: 2 x 2.8 mA of grid current through 25 kohm, with the leakage of both cans (1 Mohm each)
// beside it 23.8 kohm, make 133 V where the supply itself makes some 60; its rectifier blocks.
TEST(BiasScenario, GridCurrentDrivesTheBiasBeyondTheSupply) {
  const core::Rig rig = rig_of("pellwick-bias");
  const double idle_v = reading_of(rig, "BIAS", Stage::key_up, 120.0).volts;
  const double driven_v = reading_of(rig, "BIAS", Stage::key_down, 120.0).volts;
  EXPECT_NEAR(idle_v, -64.0, 6.0);
  EXPECT_NEAR(driven_v, -133.0, 4.0);
}

TEST(BiasScenario, FindsTheBiasCapacitorsOverTheirVolts) {
  for (const char* part : {"C3", "C4"}) {
    const core::Finding& over =
        finding(findings_of("pellwick-bias"), "capacitor-working-volts", part);
    EXPECT_EQ(over.verdict, Verdict::unsafe) << part;
    EXPECT_THAT(over.situation, testing::HasSubstr("key down"));
  }
}

// Negative control: the original 10 kohm holds the same current.
TEST(BiasScenario, TheOriginalBleederHoldsIt) {
  core::Rig rig = rig_of("pellwick-bias");
  set_ohms(rig, "R6", 10e3);
  EXPECT_GT(reading_of(rig, "BIAS", Stage::key_down, 127.0).volts, -90.0);
}

// ---- screen dropped from the plate supply ----------------------------------------------------

TEST(DropperScenario, TheScreenRisesToTheFullPlateVoltsWithTheKeyUp) {
  const core::Rig rig = rig_of("marlow-60");
  const double b_plus_v = reading_of(rig, "B+", Stage::key_up, 120.0).volts;
  EXPECT_NEAR(reading_of(rig, "SCREEN", Stage::key_up, 120.0).volts, b_plus_v, 0.01 * b_plus_v);
  const double keyed_v = reading_of(rig, "SCREEN", Stage::key_down, 120.0).volts;
  EXPECT_GT(keyed_v, 130.0);
  EXPECT_LT(keyed_v, 190.0);
}

TEST(DropperScenario, FindsTheBypassTheScreenAndTheKey) {
  const auto& all = findings_of("marlow-60");
  EXPECT_EQ(finding(all, "capacitor-working-volts", "C2").verdict, Verdict::unsafe);
  EXPECT_EQ(finding(all, "tube-screen-volts-cut-off", "V1").verdict, Verdict::unsafe);
  EXPECT_EQ(finding(all, "tube-key-volts", "V1").verdict, Verdict::unsafe);
  EXPECT_EQ(finding(all, "tube-screen-volts", "V1").verdict, Verdict::safe);
}

// ---- screens from a pair of vr tubes -----------------------------------------------------------

TEST(RegulatorScenario, ThePairHoldsTheScreensAtNominalLine) {
  const core::Rig rig = rig_of("tarrant-pair");
  const Reading up = reading_of(rig, "SCREEN", Stage::key_up, 120.0);
  EXPECT_EQ(up.lit.size(), 2U);
  EXPECT_NEAR(up.volts, 258.0, 4.0);
}

TEST(RegulatorScenario, FindsRegulationLostAtLowLineAndNothingTooMuchAtHighLine) {
  const auto& all = findings_of("tarrant-pair");
  for (const char* part : {"VR1", "VR2"}) {
    EXPECT_EQ(finding(all, "vr-tube-least-current", part).verdict, Verdict::unsafe) << part;
    EXPECT_EQ(finding(all, "vr-tube-current", part).verdict, Verdict::safe) << part;
  }
  EXPECT_THAT(finding(all, "vr-tube-least-current", "VR1").situation,
              testing::HasSubstr("key down"));
}

// Without volts enough the pair stays dark and the screens see what comes: said as such. At a
// quarter of the line the supply gives about a quarter of its volts, below what strikes the lower
// tube.
TEST(RegulatorScenario, ThePairIsDarkAtAQuarterOfTheLine) {
  const core::Rig rig = rig_of("tarrant-pair");
  const Reading low = reading_of(rig, "SCREEN", Stage::tubes_out, 30.0);
  EXPECT_TRUE(low.lit.empty());
  EXPECT_GT(low.volts, 100.0);
}

// ---- clamp tube ---------------------------------------------------------------------------------

TEST(ClampScenario, TheClampPullsTheScreenDownWithoutDrive) {
  const core::Rig rig = rig_of("hollin-clamp");
  const double clamped_v = reading_of(rig, "SCREEN", Stage::key_up, 120.0).volts;
  const double driven_v = reading_of(rig, "SCREEN", Stage::key_down, 120.0).volts;
  EXPECT_GT(clamped_v, 15.0);
  EXPECT_LT(clamped_v, 60.0);
  EXPECT_GT(driven_v, 120.0);
}

TEST(ClampScenario, FindsTheDropperTooSmallForTheClamp) {
  const auto& all = findings_of("hollin-clamp");
  const core::Finding& dropper = finding(all, "resistor-watts", "R2");
  EXPECT_EQ(dropper.verdict, Verdict::unsafe);
  EXPECT_THAT(dropper.situation, testing::HasSubstr("key up"));
  EXPECT_EQ(finding(all, "tube-plate-watts", "V1").verdict, Verdict::safe);
}

// Without the clamp the same tube burns: the negative control.
TEST(ClampScenario, WithoutTheClampTheFinalIsOverItsDissipation) {
  core::Rig rig = rig_of("hollin-clamp");
  std::erase_if(rig.parts, [](const core::Part& part) { return part.designator == "V2"; });
  EXPECT_EQ(finding(margins_of(rig), "tube-plate-watts", "V1").verdict, Verdict::unsafe);
}

}  // namespace
}  // namespace firstglow::sim
