#include "core/rig_reader.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace firstglow::core {
namespace {

const std::string kDemo = std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/wrenfield-75/rig.yaml";

TEST(RigReader, ReadsTheDemo) {
  const Rig rig = read_rig_file(kDemo);
  EXPECT_EQ(rig.name, "Wrenfield 75");
  EXPECT_EQ(rig.parts.size(), 23U);
  EXPECT_EQ(rig.nodes.at(kChassis).name, "CHASSIS");
  EXPECT_EQ(rig.mains().nominal, RmsVolts(120.0));
}

}  // namespace
}  // namespace firstglow::core
