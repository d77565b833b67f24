#include "sim/studies/tolerance.hpp"

#include <gtest/gtest.h>

#include <limits>

#include "core/error.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::sim {
namespace {

/// Figures of R1 high, R1 low, R2 ... made up so that R1 raises and R2 lowers figure 0 when high.
Sensitivity made_up() {
  return Sensitivity({"R1", "R2"}, {{100.0, 5.0},   // nominal
                                    {90.0, 5.0},    // R1 low
                                    {112.0, 5.0},   // R1 high
                                    {103.0, 5.0},   // R2 low
                                    {98.0, 5.0}});  // R2 high
}

// By hand: falls 10 (R1 low) and 2 (R2 high); rises 12 (R1 high) and 3 (R2 low).
TEST(Sensitivity, AddsUpTheEffectsOneAtATime) {
  EXPECT_DOUBLE_EQ(made_up().fall(0), -12.0);
  EXPECT_DOUBLE_EQ(made_up().rise(0), 15.0);
}

TEST(Sensitivity, CornerTakesEveryPartToItsWorseSide) {
  EXPECT_EQ(made_up().corner_for(0, 1), (Corner{{"R1", 1.0}, {"R2", -1.0}}));
  EXPECT_EQ(made_up().corner_for(0, -1), (Corner{{"R1", -1.0}, {"R2", 1.0}}));
}

// A figure that nothing moves has an empty corner and no band.
TEST(Sensitivity, NothingMovesAnIndifferentFigure) {
  EXPECT_TRUE(made_up().corner_for(1, 1).empty());
  EXPECT_DOUBLE_EQ(made_up().rise(1), 0.0);
}

// A run that failed gives infinite figures; they count as no effect seen, not as a wild one.
TEST(Sensitivity, AFailedRunMovesNothing) {
  const double none = std::numeric_limits<double>::infinity();
  const Sensitivity sensitivity({"R1"}, {{100.0}, {none}, {110.0}});
  EXPECT_DOUBLE_EQ(sensitivity.fall(0), 0.0);
  EXPECT_DOUBLE_EQ(sensitivity.rise(0), 10.0);
}

TEST(Sensitivity, RefusesRunsThatDoNotMatchTheParts) {
  EXPECT_THROW(Sensitivity({"R1"}, {{1.0}, {1.0}}), core::ContractError);
}

// Only parts with a tolerance that are in the circuit of the stage are varied.
TEST(ToleranceParts, AreThoseInTheCircuitOfTheStage) {
  test::RigMaker maker = test::small_supply();
  maker.resistor("R9", "B+", "0", 10e3, core::ResistorRole::plain, 0.2);
  EXPECT_EQ(toleranced_parts(maker.rig(), netlists::Stage::filter), std::vector<std::string>{"R1"});
  EXPECT_EQ(toleranced_parts(maker.rig(), netlists::Stage::tubes_out),
            (std::vector<std::string>{"R1", "R9"}));
  EXPECT_TRUE(toleranced_parts(maker.rig(), netlists::Stage::transformer).empty());
}

TEST(SingleCorners, GiveTheNominalAndTwoPerPart) {
  EXPECT_EQ(single_corners({"C1"}), (std::vector<Corner>{{}, {{"C1", -1.0}}, {{"C1", 1.0}}}));
}

}  // namespace
}  // namespace firstglow::sim
