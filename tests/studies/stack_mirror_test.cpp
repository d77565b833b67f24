// Like sections of a stack may change places: the short cut must give what the long way gives.
#include "sim/studies/stack_mirror.hpp"

#include <gtest/gtest.h>

#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

using test::part_index;
using test::RigMaker;

/// Four like sections under B+, the lowest on the chassis.
RigMaker stack_of_four() {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {1.0}),
                    {maker.winding("plate", {"HV1", "0", "HV2"}, {600.0, 600.0}, {40.0, 40.0})},
                    0.2, 8.0);
  maker.diode("D1", "HV1", "B+", 3).diode("D2", "HV2", "B+", 3);
  const std::vector<std::string> nodes{"B+", "S1", "S2", "S3", "0"};
  for (std::size_t i = 0; i + 1 < nodes.size(); ++i) {
    const std::string number(1, static_cast<char>('1' + i));
    maker.capacitor("C" + number, nodes[i], nodes[i + 1], 22e-6);
    auto& can = std::get<core::Capacitor>(maker.rig().parts.back().data);
    can.value.tolerance = {0.2, 0.5};
    maker.resistor("R" + number, nodes[i], nodes[i + 1], 10e3, core::ResistorRole::equaliser, 0.1);
  }
  return maker;
}

std::vector<Stress> steady(const core::Rig& rig, const netlists::Situation& situation) {
  static WorkerPool pool({1, {}});
  std::vector<Stress> stresses;
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    SteadyRunner runner(engine, rig);
    stresses = stresses_of(rig, runner.run(situation).cycle, RunKind::steady);
  });
  return stresses;
}

TEST(StackMirror, FindsTheCopiesOfAStack) {
  const RigMaker maker = stack_of_four();
  const StackMirror mirror(maker.rig());
  EXPECT_EQ(mirror.swaps().size(), 3U);
  EXPECT_FALSE(mirror.is_copy(part_index(maker.rig(), "C1")));
  EXPECT_FALSE(mirror.is_copy(part_index(maker.rig(), "D1")));
  for (const char* name : {"C2", "C3", "C4", "R2", "R3", "R4"}) {
    EXPECT_TRUE(mirror.is_copy(part_index(maker.rig(), name))) << name;
  }
}

TEST(StackMirror, TakesNothingThatDiffersOrHangsOnAJoint) {
  RigMaker other = stack_of_four();
  std::get<core::Capacitor>(
      other.rig().parts[static_cast<std::size_t>(part_index(other.rig(), "C3"))].data)
      .value.marked = core::Farads(10e-6);
  EXPECT_TRUE(StackMirror(other.rig()).swaps().empty());  // two like, one unlike, one more
  RigMaker tapped = stack_of_four();
  tapped.resistor("RT", "S2", "0", 100e3);
  EXPECT_TRUE(StackMirror(tapped.rig()).swaps().empty());
}

// C3 low and R1 high run as they are, against C1 low and R3 high with sections 1 and 3 exchanged.
TEST(StackMirror, ReadsOffWhatTheRunGives) {
  const RigMaker maker = stack_of_four();
  const core::Rig& rig = maker.rig();
  const StackMirror mirror(rig);
  netlists::Situation direct;
  direct.corner = {{"C3", -1.0}, {"R1", 1.0}, {"R2", -1.0}};
  const StackMirror::Swap& swap = *mirror.swap_of(part_index(rig, "C3"));
  const netlists::Situation model = mirror.swapped(direct, swap);
  EXPECT_EQ(model.corner, (std::map<std::string, double>{{"C1", -1.0}, {"R3", 1.0}, {"R2", -1.0}}));
  const std::vector<Stress> expected = steady(rig, direct);
  const std::vector<Stress> found = StackMirror::swapped(steady(rig, model), swap);
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_EQ(found[i].part, expected[i].part);
    EXPECT_EQ(found[i].rule, expected[i].rule);
    EXPECT_NEAR(found[i].value, expected[i].value, 2e-3 * std::abs(expected[i].value) + 1e-3);
  }
}

}  // namespace
}  // namespace firstglow::sim
