#include "sim/studies/stacks.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "core/rig_reader.hpp"
#include "sim/studies/age.hpp"
#include "sim/studies/stack_chain.hpp"
#include "sim/studies/stack_drift.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::sim {
namespace {

core::Rig scenario(const std::string& name) {
  return core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/" + name + "/rig.yaml");
}

TEST(StackChain, RunsFromTopToBottom) {
  const core::Rig rig = scenario("saltmarsh-kw");
  const auto chains = stack_chains(rig);
  ASSERT_EQ(chains.size(), 1U);
  ASSERT_EQ(chains[0].sections.size(), 8U);
  for (std::size_t k = 0; k < 8; ++k) {
    const ChainSection& section = chains[0].sections[k];
    ASSERT_EQ(section.cans.size(), 1U);
    ASSERT_EQ(section.equalisers.size(), 1U);
    EXPECT_EQ(rig.parts[section.cans[0]].designator, "C" + std::to_string(k + 1));
    EXPECT_EQ(rig.parts[section.equalisers[0]].designator, "R" + std::to_string(k + 1));
  }
}

// Two like cans, tight, one resistor R across the first: the second takes the whole of V by
// v_2 = V - (V/2) exp(-t/(R (C_1 + C_2))); by hand. 220 kohm, 200 uF: 44 s.
TEST(StackDrift, FollowsTheExponentialWithoutLeakage) {
  const DriftSection tight{100e-6, 1e-15, 450.0, 1e6, std::nullopt};
  DriftSection bridged = tight;
  bridged.equaliser_ohm = 220e3;
  const auto points = stack_drift({bridged, tight}, {350.0, 350.0}, 1.0);
  for (const double time_s : {10.0, 44.0, 100.0}) {
    EXPECT_NEAR(volts_at(points, 1, time_s), 700.0 - 350.0 * std::exp(-time_s / 44.0), 1.5);
  }
  EXPECT_NEAR(points.back().volts[1], 700.0, 0.5);
  EXPECT_NEAR(*first_above(points, 1, 450.0), 44.0 * std::log(350.0 / 250.0), 0.5);
  EXPECT_FALSE(first_above(points, 0, 450.0).has_value());
}

// The film of a tight can draws more as the volts pass what it stands: it ends below the whole.
TEST(StackDrift, StopsWhereTheFilmLeaks) {
  const DriftSection tight{100e-6, 1e-5, 450.0, 525.0, std::nullopt};
  DriftSection leaky{100e-6, 1e-3, 450.0, 525.0, 220e3};
  const auto points = stack_drift({leaky, tight}, {350.0, 350.0}, 24.0);
  EXPECT_GT(points.back().volts[1], 450.0);
  EXPECT_LT(points.back().volts[1], 695.0);
}

StacksResult stacks_of(const core::Rig& rig) {
  WorkerPool pool(PoolOptions{2, ""});
  return stacks(rig, {}, pool);
}

// 600 V class, two 450 V cans, measured equalisers within 2 %: by hand from the supply volts that
// were found: I = (V + i_2 R_2)/(R_1 + R_2), v_1 = I R_1 with R_1 high, R_2 low.
TEST(Stacks, GivesTheWorstCornerOfTheDemo) {
  const core::Rig rig = scenario("wrenfield-75");
  const StacksResult result = stacks_of(rig);
  ASSERT_EQ(result.stacks.size(), 1U);
  const StackAnswer& stack = result.stacks[0];
  ASSERT_EQ(stack.failure, "");
  EXPECT_GT(stack.supply_v, 550.0);
  EXPECT_GT(stack.peak_v, stack.supply_v);
  const double high_ohm = 51.2e3 * 1.02, low_ohm = 49.6e3 * 0.98;
  const double leak_a = stack.sections[1].leakage_a;
  const double current_a = (stack.supply_v + leak_a * low_ohm) / (high_ohm + low_ohm);
  ASSERT_TRUE(stack.sections[0].slow_v.has_value());
  EXPECT_NEAR(*stack.sections[0].slow_v, current_a * high_ohm, 0.1);
  ASSERT_EQ(stack.open.size(), 2U);
  EXPECT_TRUE(stack.open[0].over_working_s.has_value()) << "an open equaliser overruns its can";
  ASSERT_TRUE(stack.advised_ohm.has_value());
  EXPECT_LE(*stack.advised_ohm, *stack.largest_ohm);
}

TEST(Stacks, GivesNoVerdictWithoutAnEqualiser) {
  std::string text = core::source_file("scenarios/wrenfield-75/rig.yaml");
  text = core::edited(text, "  R1: {kind: resistor, role: equaliser", "  R1: {kind: resistor");
  const core::Rig rig = core::read_rig_text(
      core::edited(text, "nodes: [B+, MID], value: 50k", "nodes: [B+, CHASSIS], value: 50k"), "r");
  const StacksResult result = stacks_of(rig);
  ASSERT_EQ(result.stacks.size(), 1U);
  EXPECT_FALSE(result.stacks[0].sections[0].slow_v.has_value());
  bool said = false;
  for (const core::Finding& finding : result.findings) {
    said = said || (finding.rule == "stack-volts-after-hours" &&
                    finding.verdict == core::Verdict::no_verdict);
  }
  EXPECT_TRUE(said);
}

AgeResult age_of(const core::Rig& rig) {
  WorkerPool pool(PoolOptions{2, ""});
  return age(rig, {}, pool);
}

// Heat I^2 esr into the can's surface; life by the ten-degree rule at the can: by hand from the
// ripple that was found. 85 C to 40 C + rise.
TEST(Age, AddsUpHeatAndLife) {
  const core::Rig rig = core::read_rig_text(
      core::edited(core::small_record(), "value: 47u, working_volts: 500 V",
                   "value: 47u, working_volts: 500 V, esr: 4 ohm, ripple_current: 300 mA, "
                   "can: 35x50 mm, life: 2000 h at 85 C, years_idle: 5"),
      "rig.yaml");
  const AgeResult result = age_of(rig);
  ASSERT_EQ(result.failure, "");
  ASSERT_EQ(result.rows.size(), 1U);
  const AgeRow& row = result.rows[0];
  EXPECT_GT(row.ripple_a, 0.05);
  EXPECT_NEAR(row.heat_w, row.ripple_a * row.ripple_a * 4.0, 1e-9);
  const double rise_k = row.heat_w / (10.0 * M_PI * (0.035 * 0.050 + 0.5 * 0.035 * 0.035));
  EXPECT_NEAR(row.rise_k, rise_k, 1e-6);
  EXPECT_NEAR(*row.ten_degree_h, 2000.0 * std::exp2((85.0 - 40.0 - rise_k) / 10.0), 1.0);
  ASSERT_TRUE(row.maker_h.has_value());
  EXPECT_EQ(row.shelf.advice, core::ShelfAdvice::condition);
}

TEST(Age, HasNoVerdictForWhatTheRecordDoesNotSay) {
  const AgeResult result = age_of(core::read_rig_text(core::small_record(), "rig.yaml"));
  int missing = 0;
  for (const core::Finding& finding : result.findings) {
    missing += finding.verdict == core::Verdict::no_verdict && !finding.note.empty() ? 1 : 0;
  }
  EXPECT_EQ(missing, 5) << "ripple rating, size of the can, esr, life, years";
}

}  // namespace
}  // namespace firstglow::sim
