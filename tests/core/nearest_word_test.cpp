#include "core/nearest_word.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace firstglow::core {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(EditDistance, CountsInsertionsRemovalsReplacementsAndSwaps) {
  EXPECT_EQ(edit_distance("watts", "watts"), 0);
  EXPECT_EQ(edit_distance("wats", "watts"), 1);
  EXPECT_EQ(edit_distance("wattts", "watts"), 1);
  EXPECT_EQ(edit_distance("watzs", "watts"), 1);
  EXPECT_EQ(edit_distance("wtats", "watts"), 1);
  EXPECT_EQ(edit_distance("", "ohm"), 3);
}

TEST(EditDistance, TakesUpperAndLowerCaseAsEqual) { EXPECT_EQ(edit_distance("ESR", "esr"), 0); }

TEST(EditDistance, IsTheSameInBothDirections) {
  EXPECT_EQ(edit_distance("working_volts", "workingvolt"),
            edit_distance("workingvolt", "working_volts"));
}

TEST(NearestWord, FindsTheSlipOfThePen) {
  EXPECT_EQ(nearest_word("wats", {"value", "watts", "note"}), "watts");
}

TEST(NearestWord, SaysNothingWhenNothingIsNear) {
  EXPECT_EQ(nearest_word("transformer", {"value", "watts", "note"}), "");
  EXPECT_EQ(nearest_word("x", {"a", "b"}), "");
}

TEST(NearestWord, ListsTheNearestFirst) {
  EXPECT_THAT(nearest_words("1N4070", {"1N4001", "1N4007", "UF4007"}, 2),
              ElementsAre("1N4007", "1N4001"));
  EXPECT_THAT(nearest_words("6146B", {"1N4001"}), IsEmpty());
}

// Only the first 48 characters count, so a megabyte of text costs nothing.
TEST(NearestWord, TakesVeryLongWords) {
  EXPECT_EQ(nearest_word(std::string(1000000, 'x'), {"value"}), "");
}

}  // namespace
}  // namespace firstglow::core
