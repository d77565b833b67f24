#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <nlohmann/json.hpp>

#include "core/error.hpp"
#include "sim/report/bleed_report.hpp"
#include "sim/report/check_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/margins_report.hpp"
#include "sim/report/rampup_report.hpp"
#include "sim/report/traces_csv.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using ::testing::HasSubstr;
using ::testing::StartsWith;

TEST(Csv, QuotesWhatNeedsQuotes) {
  EXPECT_EQ(csv_field("B+"), "B+");
  EXPECT_EQ(csv_field("cold, 90 deg"), "\"cold, 90 deg\"");
  EXPECT_EQ(csv_field("the \"can\""), "\"the \"\"can\"\"\"");
  EXPECT_EQ(csv_field("two\nlines"), "\"two\nlines\"");
}

// A spreadsheet runs a cell that starts like a formula.
TEST(Csv, DisarmsFormulas) {
  EXPECT_EQ(csv_field("=1+1"), "'=1+1");
  EXPECT_EQ(csv_field("+12V"), "'+12V");
  EXPECT_EQ(csv_field("@SUM(A1)"), "'@SUM(A1)");
}

TEST(Csv, WritesNumbersThatReadBackTheSame) {
  EXPECT_EQ(std::stod(csv_number(0.1 + 0.2)), 0.1 + 0.2);
  EXPECT_THROW(static_cast<void>(csv_number(std::numeric_limits<double>::infinity())),
               core::ContractError);
}

TEST(Csv, WritesOnePointARow) {
  EXPECT_EQ(margins_csv(test::sample_margins()),
            "trace,unit,time_s,value\r\n"
            "\"cold switch-on, 90 deg: B+\",V,0,0\r\n"
            "\"cold switch-on, 90 deg: B+\",V,0.001,12.5\r\n");
}

TEST(Csv, RefusesATraceOfUnequalLengths) {
  EXPECT_THROW(static_cast<void>(traces_csv({{"x", "V", {0.0, 1.0}, {0.0}}})), core::ContractError);
}

TEST(Csv, HasVoltsAndJoulesOfEachCapacitorInEachCase) {
  const std::string csv = bleed_csv(test::sample_bleed());
  EXPECT_THAT(csv, HasSubstr("R3 open: C1,V,0,455\r\n"));
  EXPECT_THAT(csv, HasSubstr("R3 open: C1,J,0,6.21"));
}

TEST(Csv, LeavesOutFailedStepsOfARamp) {
  const std::string csv = rampup_csv(test::sample_rampup());
  EXPECT_THAT(csv, StartsWith("stage,lamp,variac_vrms,reading,unit,low,nominal,high\r\n"));
  EXPECT_THAT(csv, HasSubstr("tubes_out,in,60,B+: DC,V DC,276,294"));
  EXPECT_THAT(csv, ::testing::Not(HasSubstr("tubes_out,out,127,")));
}

TEST(JsonAnswer, GivesTheWorstVerdictAndEveryFinding) {
  const auto answer = nlohmann::json::parse(margins_json(test::demo_rig(), test::sample_margins()));
  EXPECT_EQ(answer["format"], 1);
  EXPECT_EQ(answer["verdict"], "unsafe");
  ASSERT_EQ(answer["findings"].size(), 5U);
  EXPECT_EQ(answer["findings"][2]["verdict"], "no verdict");
  EXPECT_TRUE(answer["findings"][2]["limit"].is_null());
}

TEST(JsonAnswer, SaysNeverAsNullAndInWords) {
  const auto answer = nlohmann::json::parse(bleed_json(test::demo_rig(), test::sample_bleed()));
  const auto& limit = answer["cases"][2]["capacitors"][0]["limits"][0];
  EXPECT_TRUE(limit["time_s"].is_null());
  EXPECT_EQ(limit["never"], true);
}

TEST(JsonAnswer, IsAsciiWhateverTheNamesAre) {
  core::Rig rig = test::demo_rig();
  rig.name = test::kHostile;
  const std::string text = check_json(rig, test::sample_check());
  for (const char c : text) {
    ASSERT_TRUE(c == '\n' || (c >= 0x20 && c < 0x7F)) << int{c};
  }
  EXPECT_FALSE(nlohmann::json::parse(text).is_discarded());
}

// JSON has no such number; null would be read as "not known".
TEST(JsonAnswer, RefusesWhatIsNotFinite) {
  MarginsResult result = test::sample_margins();
  result.findings[0].value = std::numeric_limits<double>::infinity();
  EXPECT_THROW(static_cast<void>(margins_json(test::demo_rig(), result)), core::ContractError);
}

}  // namespace
}  // namespace firstglow::sim
