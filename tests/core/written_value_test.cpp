#include "core/written_value.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace firstglow::core {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

struct WrittenCase {
  const char* text;
  Dimension dimension;
  double si;
};

/// Every text gives the double nearest to its decimal value: exact equality is meant.
void expect_reads(const WrittenCase& written) {
  const Written<double> read = read_quantity(written.text, written.dimension);
  ASSERT_TRUE(read.value) << written.text << ": " << read.fault;
  EXPECT_EQ(*read.value, written.si) << written.text;
}

void expect_fault(std::string_view text, Dimension dimension, const std::string& fragment) {
  const Written<double> read = read_quantity(text, dimension);
  EXPECT_FALSE(read.value) << text;
  EXPECT_THAT(read.fault, HasSubstr(fragment)) << text;
  EXPECT_THAT(read.fault, HasSubstr("expected")) << text;
}

// [IEC-60062] letter codes of resistance, from memory: the letter stands for the decimal point.
TEST(WrittenValue, ReadsTheResistanceCodesOfIec60062) {
  for (const WrittenCase& written : {WrittenCase{"R47", Dimension::ohms, 0.47},
                                     {"4R7", Dimension::ohms, 4.7},
                                     {"47R", Dimension::ohms, 47.0},
                                     {"100R", Dimension::ohms, 100.0},
                                     {"1K0", Dimension::ohms, 1e3},
                                     {"4k7", Dimension::ohms, 4.7e3},
                                     {"4K7", Dimension::ohms, 4.7e3},
                                     {"47k", Dimension::ohms, 47e3},
                                     {"k47", Dimension::ohms, 470.0},
                                     {"1M0", Dimension::ohms, 1e6},
                                     {"2M2", Dimension::ohms, 2.2e6},
                                     {"10M", Dimension::ohms, 10e6},
                                     {"1G0", Dimension::ohms, 1e9},
                                     {"59R04", Dimension::ohms, 59.04}}) {
    expect_reads(written);
  }
}

// [IEC-60062] letter codes of capacitance, from memory.
TEST(WrittenValue, ReadsTheCapacitanceCodesOfIec60062) {
  for (const WrittenCase& written : {WrittenCase{"p10", Dimension::farads, 0.1e-12},
                                     {"3p32", Dimension::farads, 3.32e-12},
                                     {"33p", Dimension::farads, 33e-12},
                                     {"n15", Dimension::farads, 0.15e-9},
                                     {"2n2", Dimension::farads, 2.2e-9},
                                     {"100n", Dimension::farads, 100e-9},
                                     {"1u0", Dimension::farads, 1e-6},
                                     {"4\u00B57", Dimension::farads, 4.7e-6},
                                     {"4\u03BC7", Dimension::farads, 4.7e-6},
                                     {"47u", Dimension::farads, 47e-6},
                                     {"1m5", Dimension::farads, 1.5e-3}}) {
    expect_reads(written);
  }
}

// [IEC-60063] E24, from memory: each value as a code of both places of the letter.
TEST(WrittenValue, ReadsTheE24SeriesOfIec60063) {
  constexpr std::array kE24{10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                            33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};
  for (const int value : kE24) {
    const std::string digits{static_cast<char>('0' + value / 10),
                             static_cast<char>('0' + value % 10)};
    const std::string inside = digits.substr(0, 1) + "k" + digits.substr(1);
    EXPECT_EQ(read_quantity(digits + "k", Dimension::ohms).value, value * 1000.0) << digits;
    EXPECT_EQ(read_quantity(inside, Dimension::ohms).value, value * 100.0) << inside;
  }
}

TEST(WrittenValue, ReadsNumbersWithPrefixAndUnit) {
  for (const WrittenCase& written : {WrittenCase{"47 uF", Dimension::farads, 47e-6},
                                     {"47uF", Dimension::farads, 47e-6},
                                     {"0.01 \u00B5F", Dimension::farads, 0.01e-6},
                                     {"40 mfd", Dimension::farads, 40e-6},
                                     {"1.5 kohm", Dimension::ohms, 1.5e3},
                                     {"1.5 k\u03A9", Dimension::ohms, 1.5e3},
                                     {"1.5 k\u2126", Dimension::ohms, 1.5e3},
                                     {"10 Kohm", Dimension::ohms, 10e3},
                                     {"0.3 ohm", Dimension::ohms, 0.3},
                                     {".3 ohm", Dimension::ohms, 0.3},
                                     {"50k", Dimension::ohms, 50e3},
                                     {"1.5 k", Dimension::ohms, 1.5e3},
                                     {"0.25 W", Dimension::watts, 0.25},
                                     {"10 mA", Dimension::amps, 10e-3},
                                     {"2 amps", Dimension::amps, 2.0},
                                     {"60 Hz", Dimension::hertz, 60.0},
                                     {"10 H", Dimension::henries, 10.0},
                                     {"30 mH", Dimension::henries, 30e-3},
                                     {"1 kV", Dimension::volts, 1e3},
                                     {"350 V", Dimension::volts, 350.0},
                                     {"12 A2s", Dimension::amps_squared_seconds, 12.0},
                                     {"12 A\u00B2s", Dimension::amps_squared_seconds, 12.0},
                                     {"1.5 s", Dimension::seconds, 1.5},
                                     {"20 ms", Dimension::seconds, 20e-3},
                                     {"90 seconds", Dimension::seconds, 90.0},
                                     {"3000 kelvin", Dimension::kelvin, 3000.0}}) {
    expect_reads(written);
  }
}

TEST(WrittenValue, RefusesABareNumber) {
  expect_fault("47", Dimension::ohms, "'47' has no unit; expected a resistance such as");
  expect_fault("47", Dimension::farads, "'47' has no unit; expected a capacitance such as");
  expect_fault("10", Dimension::henries, "'10' has no unit; expected an inductance such as '10 H'");
}

// A prefix alone is a value only in the codes of resistance and capacitance.
TEST(WrittenValue, RefusesAPrefixWithoutUnitElsewhere) {
  expect_fault("30m", Dimension::henries, "'30m' has no unit");
  expect_fault("1.2 k", Dimension::volts, "'1.2 k' has no unit");
}

TEST(WrittenValue, SaysWhichDimensionItFound) {
  expect_fault("47 V", Dimension::ohms, "'47 V' is a voltage; expected a resistance");
  expect_fault("4k7", Dimension::volts, "'4k7' is a resistance; expected a voltage");
  expect_fault("100R", Dimension::farads, "'100R' is a resistance; expected a capacitance");
  expect_fault("47u", Dimension::ohms, "'47u' is a capacitance; expected a resistance");
  expect_fault("50k", Dimension::farads, "'50k' is a resistance; expected a capacitance");
  expect_fault("10 H", Dimension::hertz, "'10 H' is an inductance; expected a frequency");
}

TEST(WrittenValue, RefusesADecimalComma) {
  expect_fault("1,5 k", Dimension::ohms, "'1,5 k' holds a comma");
  expect_fault("1,500 V", Dimension::volts, "write a decimal point and no thousands separator");
}

TEST(WrittenValue, RefusesNegativeValues) {
  expect_fault("-5 V", Dimension::volts, "'-5 V' is negative");
  expect_fault("\u22125 V", Dimension::volts, "is negative");
}

TEST(WrittenValue, RefusesZeroUnlessItIsSensible) {
  expect_fault("0 ohm", Dimension::ohms, "'0 ohm' is zero");
  expect_fault("0R0", Dimension::ohms, "is zero");
  EXPECT_EQ(read_quantity("0 mA", Dimension::amps, true).value, 0.0);
}

TEST(WrittenValue, RefusesWordsThatAreNoFiniteNumber) {
  for (const char* text : {"inf V", "Infinity", "nan", ".inf", ".NaN V", "NAN ohm"}) {
    expect_fault(text, Dimension::volts, "is not a finite number");
  }
}

// Just inside and just outside 100 kV, the largest voltage taken.
TEST(WrittenValue, RefusesAbsurdSizes) {
  EXPECT_EQ(read_quantity("100 kV", Dimension::volts).value, 1e5);
  expect_fault("100.1 kV", Dimension::volts, "is outside what such a part can have");
  expect_fault("40 F", Dimension::farads, "check the prefix");
  expect_fault("0.0000001 pF", Dimension::farads, "check the prefix");
  expect_fault("99999999999999999999 GV", Dimension::volts, "check the prefix");
}

TEST(WrittenValue, RefusesUnknownUnitsAndBrokenNumbers) {
  expect_fault("47 uX", Dimension::farads, "'47 uX' ends in 'uX', which is no known unit");
  expect_fault("40 MF", Dimension::farads, "is outside what such a part can have");
  expect_fault("1.2.3 V", Dimension::volts, "no known unit");
  expect_fault("1e3 V", Dimension::volts, "no known unit");
  expect_fault("0x10 V", Dimension::volts, "no known unit");
  expect_fault("4k7k", Dimension::ohms, "no known unit");
  expect_fault("4.7k5", Dimension::ohms, "no known unit");
  expect_fault("about 5 V", Dimension::volts, "does not start with a number");
  expect_fault("+5 V", Dimension::volts, "does not start with a number");
  expect_fault(".", Dimension::volts, "does not start with a number");
  expect_fault("", Dimension::volts, "the value is empty");
  expect_fault(std::string(500, '9'), Dimension::volts, "is longer than 40 characters");
}

TEST(WrittenSections, ReadNLikeSections) {
  EXPECT_THAT(*read_sections("2x350 V", Dimension::volts).value, ElementsAre(350.0, 350.0));
  EXPECT_THAT(*read_sections("2 x 350 V", Dimension::volts).value, ElementsAre(350.0, 350.0));
  EXPECT_THAT(*read_sections("3\u00D75 V", Dimension::volts).value, ElementsAre(5.0, 5.0, 5.0));
  EXPECT_THAT(*read_sections("350 V", Dimension::volts).value, ElementsAre(350.0));
}

TEST(WrittenSections, RefuseBadCounts) {
  EXPECT_THAT(read_sections("0x350 V", Dimension::volts).fault, HasSubstr("from 1 to 16"));
  EXPECT_THAT(read_sections("17x350 V", Dimension::volts).fault, HasSubstr("from 1 to 16"));
  EXPECT_THAT(read_sections("2x350", Dimension::volts).fault, HasSubstr("'350' has no unit"));
  EXPECT_THAT(read_sections("x350 V", Dimension::volts).fault, HasSubstr("start with a number"));
}

struct ToleranceCase {
  const char* text;
  double minus, plus;
};

// Letters: [IEC-60062], from memory.
TEST(WrittenTolerance, ReadsPercentsAndLetters) {
  for (const ToleranceCase& written : {ToleranceCase{"15 %", 0.15, 0.15},
                                       {"5%", 0.05, 0.05},
                                       {"+/-20 %", 0.2, 0.2},
                                       {"\u00B110 %", 0.1, 0.1},
                                       {"-20/+80 %", 0.2, 0.8},
                                       {"+80/-20 %", 0.2, 0.8},
                                       {"-10 / +50 %", 0.1, 0.5},
                                       {"\u221210/+50%", 0.1, 0.5},
                                       {"0.5 %", 0.005, 0.005},
                                       {"B", 0.001, 0.001},
                                       {"C", 0.0025, 0.0025},
                                       {"D", 0.005, 0.005},
                                       {"F", 0.01, 0.01},
                                       {"G", 0.02, 0.02},
                                       {"J", 0.05, 0.05},
                                       {"K", 0.1, 0.1},
                                       {"M", 0.2, 0.2},
                                       {"N", 0.3, 0.3},
                                       {"Q", 0.1, 0.3},
                                       {"S", 0.2, 0.5},
                                       {"T", 0.1, 0.5},
                                       {"Z", 0.2, 0.8}}) {
    const Written<Tolerance> read = read_tolerance(written.text);
    ASSERT_TRUE(read.value) << written.text << ": " << read.fault;
    EXPECT_DOUBLE_EQ(read.value->minus, written.minus) << written.text;
    EXPECT_DOUBLE_EQ(read.value->plus, written.plus) << written.text;
  }
}

TEST(WrittenTolerance, RefusesWhatIsNoTolerance) {
  for (const char* text : {"20", "0.2", "", "-20 %", "20/80 %", "-20/-80 %", "+20/+80 %", "1e1 %",
                           "% 20", "inf %", "nan %", "--5 %", "L", "-/+ %", "+/- %", "1.2.3 %"}) {
    const Written<Tolerance> read = read_tolerance(text);
    EXPECT_FALSE(read.value) << text;
    EXPECT_THAT(read.fault, HasSubstr("expected a tolerance such as")) << text;
  }
  EXPECT_THAT(read_tolerance("7,5 %").fault, HasSubstr("comma"));
}

// Limits -95 % and +400 %: just inside and just outside.
TEST(WrittenTolerance, RefusesAbsurdWidths) {
  EXPECT_TRUE(read_tolerance("-95/+400 %").value);
  EXPECT_THAT(read_tolerance("96 %").fault, HasSubstr("wider than -95/+400 %"));
  EXPECT_THAT(read_tolerance("-5/+401 %").fault, HasSubstr("wider than -95/+400 %"));
}

TEST(WrittenCount, TakesWholeNumbersInRangeOnly) {
  EXPECT_EQ(read_count("3", 1, 100).value, 3);
  EXPECT_EQ(read_count("100", 1, 100).value, 100);
  for (const char* text : {"0", "101", "-1", "2.5", "3 A", "", "99999999999999"}) {
    EXPECT_THAT(read_count(text, 1, 100).fault, HasSubstr("from 1 to 100")) << text;
  }
}

}  // namespace
}  // namespace firstglow::core
