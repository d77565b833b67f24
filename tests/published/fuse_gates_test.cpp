// Fuses against the time gates of their standards.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <optional>

#include "core/fuse_law.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using core::Amps;
using core::Fuse;
using core::FuseSpeed;
using core::FuseStandard;
using core::Seconds;

Fuse fuse(FuseStandard standard, FuseSpeed speed, double amps) {
  Fuse part;
  part.standard = standard;
  part.speed = speed;
  part.rating = Amps(amps);
  return part;
}

/// One gate as printed: at a multiple of the marking, between two times [s]; 0 means no bound.
struct Row {
  FuseStandard standard;
  FuseSpeed speed;
  double amps, multiple, earliest_s, latest_s;
  const char* source;
};

constexpr auto kIec = FuseStandard::iec;
constexpr auto kUl = FuseStandard::ul;
constexpr auto kFast = FuseSpeed::fast;
constexpr auto kSlow = FuseSpeed::slow;
constexpr const char* kIecF = "[IEC-60127-2] quick-acting F, 5 x 20 mm";
constexpr const char* kIecT = "[IEC-60127-2] time-lag T, from memory 88 % but for 1.5 times";
constexpr const char* kUlRows = "[UL-248-14]";

constexpr std::array kRows{
    Row{kIec, kFast, 1.0, 1.5, 3600.0, 0.0, kIecF},
    Row{kIec, kFast, 1.0, 2.1, 0.0, 1800.0, kIecF},
    Row{kIec, kFast, 1.0, 2.75, 0.050, 2.0, kIecF},
    Row{kIec, kFast, 1.0, 4.0, 0.010, 0.3, kIecF},
    Row{kIec, kFast, 1.0, 10.0, 0.0, 0.020, kIecF},
    Row{kIec, kFast, 0.05, 2.75, 0.010, 0.5, kIecF},
    Row{kIec, kFast, 0.05, 4.0, 0.003, 0.1, kIecF},
    Row{kIec, kSlow, 1.0, 1.5, 3600.0, 0.0, kIecT},
    Row{kIec, kSlow, 1.0, 2.1, 0.0, 120.0, kIecT},
    Row{kIec, kSlow, 1.0, 2.75, 0.6, 10.0, kIecT},
    Row{kIec, kSlow, 1.0, 4.0, 0.150, 3.0, kIecT},
    Row{kIec, kSlow, 1.0, 10.0, 0.020, 0.3, kIecT},
    Row{kIec, kSlow, 0.05, 2.75, 0.2, 10.0, kIecT},
    Row{kIec, kSlow, 0.05, 4.0, 0.040, 3.0, kIecT},
    Row{kIec, kSlow, 0.05, 10.0, 0.010, 0.3, kIecT},
    Row{kUl, kFast, 1.0, 1.10, 14400.0, 0.0, kUlRows},
    Row{kUl, kFast, 1.0, 1.35, 0.0, 3600.0, kUlRows},
    Row{kUl, kFast, 1.0, 2.0, 0.0, 120.0, kUlRows},
    Row{kUl, kSlow, 1.0, 1.10, 14400.0, 0.0, kUlRows},
    Row{kUl, kSlow, 1.0, 1.35, 0.0, 3600.0, kUlRows},
    Row{kUl, kSlow, 1.0, 2.0, 5.0, 120.0, kUlRows},
    Row{kUl, kSlow, 6.0, 2.0, 12.0, 120.0, kUlRows},
};

// The law's default time constants are ours; that they pass every printed gate is the check.
TEST(FuseGates, TypicalFuseOfEachClassPassesEveryGate) {
  for (const Row& row : kRows) {
    const auto law = core::fuse_law(fuse(row.standard, row.speed, row.amps));
    ASSERT_TRUE(law.has_value());
    const std::optional<Seconds> opens = law->opens_after(Amps(row.multiple * row.amps));
    if (row.earliest_s > 0.0 && opens) {
      EXPECT_GE(opens->si(), row.earliest_s) << row.source << " at " << row.multiple;
    }
    if (row.latest_s > 0.0) {
      ASSERT_TRUE(opens.has_value()) << row.source << " at " << row.multiple;
      EXPECT_LE(opens->si(), row.latest_s) << row.source << " at " << row.multiple;
    }
  }
}

// The window at a gate is the gate; the neighbours only ever bound it from further away.
TEST(FuseGates, WindowAtAGateIsThePrintedOne) {
  for (const Row& row : kRows) {
    const auto window = core::opening_window(fuse(row.standard, row.speed, row.amps),
                                             Amps(row.multiple * row.amps));
    if (row.earliest_s > 0.0) {
      EXPECT_DOUBLE_EQ(window.earliest.si(), row.earliest_s) << row.source;
    }
    if (row.latest_s > 0.0) {
      ASSERT_TRUE(window.latest.has_value());
      EXPECT_DOUBLE_EQ(window.latest->si(), row.latest_s) << row.source;
    } else {
      EXPECT_FALSE(window.latest.has_value()) << row.source;
    }
  }
}

// 1 % below its surely-opening current nothing is promised, at it there is a latest time.
TEST(FuseGates, PromiseNothingJustBelowTheFirstLatestTime) {
  for (const auto& [standard, multiple] : {std::pair(kIec, 2.1), std::pair(kUl, 1.35)}) {
    const Fuse part = fuse(standard, kSlow, 5.0);
    EXPECT_DOUBLE_EQ(core::surely_opens_at(part).si(), multiple * 5.0);
    EXPECT_FALSE(core::opening_window(part, Amps(0.99 * multiple * 5.0)).latest.has_value());
    EXPECT_TRUE(core::opening_window(part, Amps(1.01 * multiple * 5.0)).latest.has_value());
  }
}

// What is not known on the fuse is taken from every class it may be: the later latest time.
TEST(FuseGates, UnknownMarkingGivesTheWidestWindow) {
  Fuse part = fuse(kIec, kFast, 1.0);
  part.standard.reset();
  part.speed.reset();
  const auto window = core::opening_window(part, Amps(4.0));
  EXPECT_DOUBLE_EQ(window.earliest.si(), 0.0);
  ASSERT_TRUE(window.latest.has_value());
  EXPECT_DOUBLE_EQ(window.latest->si(), 120.0);  // UL prints nothing beyond 2 times
  EXPECT_DOUBLE_EQ(core::surely_opens_at(part).si(), 2.1);
}

// By hand: t = time ln(x^2 / (x^2 - r^2)) is time r^2 / x^2 far above r, so I2t is the melting I2t.
TEST(FuseLaw, ShortPulsesTakeTheMeltingI2t) {
  Fuse part = fuse(kUl, kSlow, 3.0);
  part.melting_i2t = core::AmpsSquaredSeconds(36.0);
  const auto law = core::fuse_law(part);
  ASSERT_TRUE(law.has_value());
  EXPECT_FALSE(law->time_assumed);
  EXPECT_NEAR(law->melting_i2t().si(), 36.0, 1e-9);
  const double amps = 300.0;
  EXPECT_TRUE(agrees(amps * amps * law->opens_after(Amps(amps))->si(),
                     {36.0, 1e-3, 0.0, "by hand: adiabatic limit"}));
  EXPECT_FALSE(law->opens_after(Amps(1.2 * 3.0)).has_value());
}

TEST(FuseLaw, IsNotKnownOfAPlainMarking) {
  Fuse part = fuse(kUl, kSlow, 3.0);
  part.speed.reset();
  EXPECT_FALSE(core::fuse_law(part).has_value());
}

}  // namespace
}  // namespace firstglow::published
