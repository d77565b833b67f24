#include "core/forming_log.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/electrolytic.hpp"
#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

std::string fault_text(const std::string& text) {
  try {
    static_cast<void>(read_forming_text(text, "log.csv"));
  } catch (const InputError& error) {
    return error.what();
  }
  return "no fault";
}

TEST(FormingLog, ReadsColumnsInAnyOrderWithTheirUnits) {
  const auto readings = read_forming_text(
      "current [mA],can [C],time [min],supply [V]\r\n2.5,21,0,300\r\n1.5,,5,300\r\n\r\n", "a.csv");
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_DOUBLE_EQ(readings[0].current.si(), 2.5e-3);
  EXPECT_DOUBLE_EQ(readings[0].can->si(), 294.15);
  EXPECT_DOUBLE_EQ(readings[1].time.si(), 300.0);
  EXPECT_FALSE(readings[1].can.has_value());
  EXPECT_DOUBLE_EQ(readings[1].supply->si(), 300.0);
}

// All faults in one pass, each at its line and column.
TEST(FormingLog, NamesEveryFaultWithItsPlace) {
  const std::string text = fault_text("time [min],current [mA],can [F]\n0,2,5,1\nx,-1,\n5,,\n");
  EXPECT_THAT(text, HasSubstr("log.csv:1:25: heading 'can [F]' has no unit of its column"));
  EXPECT_THAT(text, HasSubstr("log.csv:2:1: 4 cells under 3 headings"));
  EXPECT_THAT(text, HasSubstr("log.csv:3:1: 'x' is no time in min"));
  EXPECT_THAT(text, HasSubstr("log.csv:3:3: '-1' is no current in mA"));
  EXPECT_THAT(text, HasSubstr("log.csv:4:1: a reading without current"));
}

TEST(FormingLog, RefusesTimesThatDoNotRise) {
  EXPECT_THAT(fault_text("time [s],current [mA]\n0,2\n60,1\n60,0.9\n"),
              HasSubstr("log.csv:4:1: the reading at 60 s is not later"));
}

TEST(FormingLog, RefusesWhatIsNoLog) {
  EXPECT_THAT(fault_text(""), HasSubstr("the file is empty"));
  EXPECT_THAT(fault_text("time [s]\n1\n"), HasSubstr("no column 'current'"));
  EXPECT_THAT(fault_text("tme [s],current [mA]\n"), HasSubstr("did you mean 'time'?"));
  EXPECT_THAT(fault_text("time,current\n"), HasSubstr("heading 'time' has no unit"));
  EXPECT_THAT(fault_text(std::string("time [s],current [mA]\n0,\x01\n")), HasSubstr("log.csv:2"));
}

// A number of a formula sheet, an exponent and a decimal comma are no readings.
TEST(FormingLog, TakesPlainDecimalsOnly) {
  for (const char* bad : {"=1+1", "1e-3", "nan", "inf", "0", "1 mA"}) {
    EXPECT_THAT(fault_text(std::string("time [s],current [mA]\n0,") + bad + "\n"),
                HasSubstr("is no current in mA"))
        << bad;
  }
}

TEST(ElectrolyticRecord, ReadsAgeCanAndLife) {
  std::string text = source_file("tests/core/small_rig.yaml");
  const std::size_t at = text.find("kind: electrolytic,");
  ASSERT_NE(at, std::string::npos);
  const std::string kind = "kind: electrolytic,";
  std::string good = text;
  good.insert(at + kind.size(),
              " years_old: 30, years_idle: 12, can: 35x75 mm, life: 2000 h at 85 C,");
  const Rig rig = read_rig_text(good, "rig.yaml");
  int seen = 0;
  for (const Part& part : rig.parts) {
    const auto* can = std::get_if<Capacitor>(&part.data);
    if (can != nullptr && can->history.life) {
      ++seen;
      EXPECT_EQ(can->history.years_old, 30);
      EXPECT_EQ(can->history.years_idle, 12);
      EXPECT_EQ(can->history.can->mm.size(), 2U);
    }
  }
  EXPECT_EQ(seen, 1);
  std::string bad = text;
  bad.insert(at + kind.size(), " years_old: 3, years_idle: 12, can: 35x20x75 mm, life: 2000 h,");
  try {
    static_cast<void>(read_rig_text(bad, "rig.yaml"));
    FAIL() << "no fault";
  } catch (const InputError& error) {
    EXPECT_THAT(error.what(), HasSubstr("12 years idle is more than the 3 years"));
    EXPECT_THAT(error.what(), HasSubstr("'35x20x75 mm' is no size of a can"));
    EXPECT_THAT(error.what(), HasSubstr("'2000 h' is no life"));
  }
}

}  // namespace
}  // namespace firstglow::core
