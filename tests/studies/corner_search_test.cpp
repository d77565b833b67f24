// Which corners are worth a run: effects added by hand.
#include "sim/studies/corner_search.hpp"

#include <gtest/gtest.h>

#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

const std::vector<std::string> kParts{"A", "B"};

/// One stress of part 1: nominal, A low, A high, B low, B high.
std::vector<std::vector<Stress>> singles(const std::vector<double>& values) {
  std::vector<std::vector<Stress>> all;
  all.reserve(values.size());
  for (const double value : values) {
    all.push_back({Stress{1, 0, StressRule::rectifier_piv, value, 0.0}});
  }
  return all;
}

class CornerSearchOfASupply : public testing::Test {
 protected:
  test::RigMaker maker_ = test::small_supply();
  StackMirror mirror_{maker_.rig()};
  CornerSearch search_{mirror_};
};

/// A high adds 10 V, B low 5 V: both go into the corner.
TEST_F(CornerSearchOfASupply, PutsTogetherWhatRaisesAStress) {
  search_.add(0, kParts, singles({100.0, 95.0, 110.0, 105.0, 90.0}));
  const std::vector<CornerChoice> worst = search_.worst(1);
  ASSERT_EQ(worst.size(), 1U);
  EXPECT_EQ(worst[0].corner, (Corner{{"A", 1.0}, {"B", -1.0}}));
}

/// Foreseen: 115 V in group 0; 113 V is within 2 % of it, 112 V is not (115 x 0.98 = 112.7 V).
TEST_F(CornerSearchOfASupply, LooksOnlyWhereTheStressIsHighest) {
  search_.add(0, kParts, singles({100.0, 95.0, 110.0, 105.0, 90.0}));
  search_.add(1, kParts, singles({98.0, 93.0, 108.0, 103.0, 88.0}));
  search_.add(2, kParts, singles({97.0, 92.0, 107.0, 102.0, 87.0}));
  const std::vector<CornerChoice> worst = search_.worst(1);
  ASSERT_EQ(worst.size(), 2U);
  EXPECT_EQ(worst[0].group, 0U);
  EXPECT_EQ(worst[1].group, 1U);
}

/// A corner of one part was run among the singles; asked for all the same it is given.
TEST_F(CornerSearchOfASupply, LeavesOutCornersOfTooFewParts) {
  search_.add(0, kParts, singles({100.0, 95.0, 110.0, 100.0, 100.0}));
  EXPECT_TRUE(search_.worst(1).empty());
  ASSERT_EQ(search_.worst(0).size(), 1U);
  EXPECT_EQ(search_.worst(0)[0].corner, (Corner{{"A", 1.0}}));
}

/// A run that failed says nothing: its part stays out of the corner.
TEST_F(CornerSearchOfASupply, TakesAFailedRunAsNoEffect) {
  auto runs = singles({100.0, 95.0, 110.0, 105.0, 90.0});
  runs[2].clear();
  search_.add(0, kParts, runs);
  ASSERT_EQ(search_.worst(0).size(), 1U);
  EXPECT_EQ(search_.worst(0)[0].corner, (Corner{{"B", -1.0}}));
}

}  // namespace
}  // namespace firstglow::sim
