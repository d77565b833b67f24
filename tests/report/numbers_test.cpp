#include "sim/report/numbers.hpp"

#include <gtest/gtest.h>

#include <limits>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

TEST(Significant, KeepsThreeDigitsAndNoExponent) {
  EXPECT_EQ(significant(0.03124), "0.0312");
  EXPECT_EQ(significant(45.06), "45.1");
  EXPECT_EQ(significant(999.6), "1000");
  EXPECT_EQ(significant(12345.4), "12345");
  EXPECT_EQ(significant(-0.5), "-0.500");
  EXPECT_EQ(significant(0.0), "0");
  EXPECT_EQ(significant(-1e-15), "0");
}

TEST(WithUnit, UsesEngineeringPrefixes) {
  EXPECT_EQ(with_unit(51200.0, "ohm"), "51.2 kohm");
  EXPECT_EQ(with_unit(40e-6, "F"), "40 uF");
  EXPECT_EQ(with_unit(0.0062, "s"), "6.2 ms");
  EXPECT_EQ(with_unit(612.4, "V"), "612 V");
  EXPECT_EQ(with_unit(999.9, "V"), "1 kV");  // the prefix is chosen after rounding
  EXPECT_EQ(with_unit(-83.84, "V"), "-83.8 V");
  EXPECT_EQ(with_unit(0.0, "A"), "0 A");
}

// "mA^2 s" would be read as milliampere squared.
TEST(WithUnit, PutsNoPrefixOnACompoundUnit) {
  EXPECT_EQ(with_unit(0.0321, "A^2 s"), "0.0321 A^2 s");
  EXPECT_EQ(with_unit(0.5, "%"), "0.5 %");
  EXPECT_EQ(with_unit(10.31, "1"), "10.3");  // a turns ratio
}

// A time that is rounded down would send a hand in too early.
TEST(WaitingTime, IsNeverShorterThanComputed) {
  EXPECT_EQ(waiting_time(3.31), "3.4 s");
  EXPECT_EQ(waiting_time(46.01), "47 s");
  EXPECT_EQ(waiting_time(120.5), "2 min 10 s");
  EXPECT_EQ(waiting_time(1200.5), "21 min");
  EXPECT_EQ(waiting_time(7260.0), "2 h 1 min");
  EXPECT_EQ(waiting_time(3.0 * 86400.0 + 1.0), "3 d 1 h");
}

TEST(WaitingTime, KeepsAWholeTime) {
  EXPECT_EQ(waiting_time(0.0), "0 s");
  EXPECT_EQ(waiting_time(47.0), "47 s");
  EXPECT_EQ(waiting_time(10.0), "10 s");
  EXPECT_EQ(waiting_time(300.0), "5 min");
}

TEST(WaitingTime, SaysNeverForNever) { EXPECT_EQ(waiting_time(std::optional<double>()), "never"); }

TEST(Percent, KeepsTwoDigits) {
  EXPECT_EQ(percent(0.173), "17 %");
  EXPECT_EQ(percent(0.0432), "4.3 %");
  EXPECT_EQ(percent(-0.0004), "-0.04 %");
  EXPECT_EQ(percent(1.33), "133 %");
}

TEST(Plain, WritesWhatAPersonChose) {
  EXPECT_EQ(plain(10.0), "10");
  EXPECT_EQ(plain(117.5), "117.5");
}

// A number that is none is our bug and must not be printed as if it were a reading.
TEST(Numbers, RefuseWhatIsNotFinite) {
  const double endless = std::numeric_limits<double>::infinity();
  EXPECT_THROW(static_cast<void>(significant(endless)), core::ContractError);
  EXPECT_THROW(static_cast<void>(with_unit(endless, "V")), core::ContractError);
  EXPECT_THROW(static_cast<void>(waiting_time(endless)), core::ContractError);
  EXPECT_THROW(static_cast<void>(waiting_time(-1.0)), core::ContractError);
}

}  // namespace
}  // namespace firstglow::sim
