#include "netlists/stack.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/netlists/bench.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::netlists {
namespace {

using test::node_index;
using test::part_index;
using test::RigMaker;
using ::testing::ElementsAre;

TEST(Stack, FindsTheJointOfTwoCansWithTheirEqualisers) {
  RigMaker maker;
  maker.capacitor("C1", "B+", "MID", 40e-6).capacitor("C2", "MID", "0", 40e-6);
  maker.resistor("R1", "B+", "MID", 50e3, core::ResistorRole::equaliser);
  maker.resistor("R2", "MID", "0", 50e3, core::ResistorRole::equaliser);
  const std::vector<StackJoint> joints = stack_joints(maker.rig());
  ASSERT_EQ(joints.size(), 1U);
  EXPECT_EQ(joints[0].node, node_index(maker.rig(), "MID"));
  EXPECT_EQ(joints[0].top, node_index(maker.rig(), "B+"));
  EXPECT_EQ(joints[0].bottom, core::kChassis);
  EXPECT_THAT(joints[0].above, ElementsAre(part_index(maker.rig(), "C1")));
  EXPECT_THAT(joints[0].below, ElementsAre(part_index(maker.rig(), "C2")));
}

TEST(Stack, GivesThreeCansTwoJointsWithTheSameEnds) {
  RigMaker maker;
  maker.capacitor("C1", "B+", "M1", 40e-6).capacitor("C2", "M1", "M2", 40e-6);
  maker.capacitor("C3", "M2", "0", 40e-6).capacitor("C4", "M2", "0", 40e-6);
  const std::vector<StackJoint> joints = stack_joints(maker.rig());
  ASSERT_EQ(joints.size(), 2U);
  for (const StackJoint& joint : joints) {
    EXPECT_EQ(joint.top, node_index(maker.rig(), "B+"));
    EXPECT_EQ(joint.bottom, core::kChassis);
  }
  EXPECT_EQ(joints[1].below.size(), 2U);
}

// A doubler's joint is a winding end; a filter node has capacitors to one place only; a small
// bypass is no stack.
TEST(Stack, LeavesDoublersFiltersAndBypassesAlone) {
  RigMaker maker;
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("plate", {"A", "J"}, {300.0}, {30.0})}, 0.1, 5.0);
  maker.capacitor("C1", "B+", "J", 40e-6).capacitor("C2", "J", "0", 40e-6);
  maker.capacitor("C3", "F", "0", 40e-6).capacitor("C4", "F", "0", 40e-6);
  maker.resistor("R1", "F", "G", 1e3).capacitor("C5", "G", "0", 40e-6);
  maker.capacitor("C6", "P", "S", 1e-9, core::Dielectric::film);
  maker.capacitor("C7", "S", "0", 1e-9, core::Dielectric::film);
  EXPECT_TRUE(stack_joints(maker.rig()).empty());
}

}  // namespace
}  // namespace firstglow::netlists
