/// @file
/// What every report page must say and must never say.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <ostream>

#include "sim/report/bleed_report.hpp"
#include "sim/report/check_report.hpp"
#include "sim/report/inrush_report.hpp"
#include "sim/report/margins_report.hpp"
#include "sim/report/rampup_report.hpp"
#include "tests/report/page_width.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr TextStyle kAscii{};

struct NamedPage {
  const char* name;
  std::function<std::string(const core::Rig&)> text;
};
/// Else the names of these tests would hold addresses, other ones in every build.
std::ostream& operator<<(std::ostream& out, const NamedPage& page) { return out << page.name; }

class EveryPage : public ::testing::TestWithParam<NamedPage> {};

TEST_P(EveryPage, FitsEightyColumns) {
  test::expect_within_page(GetParam().text(test::demo_rig()));
}

TEST_P(EveryPage, CarriesTheCautionsAndTheirSources) {
  const std::string page = GetParam().text(test::demo_rig());
  EXPECT_THAT(page, HasSubstr("Local code and a person"));
  EXPECT_THAT(page, HasSubstr("[NAVY-SAFETY]"));
  EXPECT_THAT(page, HasSubstr("Off is not discharged"));
  EXPECT_THAT(page, HasSubstr("[GLASER-DA]"));
  EXPECT_THAT(page, HasSubstr("ASSUMED"));
  EXPECT_LT(page.find("Local code"), page.find("RESULT")) << "cautions come first";
}

// The owner's rule: no page says that a part may be touched.
TEST_P(EveryPage, NeverSaysThatSomethingMayBeTouched) {
  std::string page = GetParam().text(test::demo_rig());
  std::transform(page.begin(), page.end(), page.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  EXPECT_THAT(page, Not(HasSubstr("touch")));
  for (const std::string word : {"unsafe", "[navy-safety]"}) {
    for (auto at = page.find(word); at != std::string::npos; at = page.find(word)) {
      page.erase(at, word.size());
    }
  }
  EXPECT_THAT(page, Not(HasSubstr("safe")));
}

TEST_P(EveryPage, PrintsHostileNamesHarmlessly) {
  core::Rig rig = test::demo_rig();
  rig.name = rig.file = rig.description = test::kHostile;
  for (core::Part& part : rig.parts) {
    part.note = part.type = test::kHostile;
  }
  for (core::Node& node : rig.nodes) {
    node.name = test::kHostile;
  }
  const std::string page = GetParam().text(rig);
  test::expect_harmless(page);
  test::expect_within_page(page);
}

INSTANTIATE_TEST_SUITE_P(
    Reports, EveryPage,
    ::testing::Values(NamedPage{"check",
                                [](const core::Rig& rig) {
                                  return check_text(rig, test::sample_check(), kAscii);
                                }},
                      NamedPage{"rampup",
                                [](const core::Rig& rig) {
                                  return rampup_text(rig, test::sample_rampup(), kAscii);
                                }},
                      NamedPage{"margins",
                                [](const core::Rig& rig) {
                                  return margins_text(rig, test::sample_margins(), kAscii);
                                }},
                      NamedPage{"bleed",
                                [](const core::Rig& rig) {
                                  return bleed_text(rig, test::sample_bleed(), kAscii);
                                }},
                      NamedPage{"inrush",
                                [](const core::Rig& rig) {
                                  return inrush_text(rig, test::sample_inrush(), kAscii);
                                }}),
    [](const auto& page) { return page.param.name; });

// ---- check ----------------------------------------------------------------------------------

TEST(CheckText, SaysWhichValueWasMeasuredAndWhereTheBandIsFrom) {
  const std::string page = check_text(test::demo_rig(), test::sample_check(), kAscii);
  EXPECT_THAT(page, HasSubstr("51.2 kohm measured, marked 50 kohm"));
  EXPECT_THAT(page, HasSubstr("36 uF to 60 uF: -10 % +50 % as stated"));
  EXPECT_THAT(page, HasSubstr("9.04 ohm ASSUMED"));
}

TEST(CheckText, MarksAReadingThroughARectifierAndAnOpenNode) {
  const std::string page = check_text(test::demo_rig(), test::sample_check(), kAscii);
  EXPECT_THAT(page, HasSubstr("B+      18.4 kohm  20.1 kohm  21.7 kohm   22 ohm  * changed"));
  EXPECT_THAT(page, HasSubstr("SCREEN       open       open       open     open"));
}

TEST(CheckText, ListsWhatIsMissingForWhichAnswer) {
  const std::string page = check_text(test::demo_rig(), test::sample_check(), kAscii);
  EXPECT_THAT(page, HasSubstr("F1    melting_i2t  inrush: does the fuse hold?"));
}

// ---- margins --------------------------------------------------------------------------------

TEST(MarginsText, PutsTheWorstFirst) {
  const std::string page = margins_text(test::demo_rig(), test::sample_margins(), kAscii);
  EXPECT_THAT(page, HasSubstr("RESULT: UNSAFE. 2 of 5 limits exceeded; 1 more without a verdict."));
  EXPECT_THAT(page, HasSubstr("1. C1: peak volts across 612 V, limit 525 V: 17 % OVER"));
  EXPECT_THAT(page, HasSubstr("2. R3: continuous watts 27.4 W, limit 25 W: 9.6 % OVER"));
  EXPECT_LT(page.find("OVER THE LIMIT"), page.find("NO VERDICT:"));
  EXPECT_LT(page.find("NO VERDICT:"), page.find("LIMIT KEPT"));
}

TEST(MarginsText, SaysWhatIsMissingForAVerdict) {
  const std::string page = margins_text(test::demo_rig(), test::sample_margins(), kAscii);
  EXPECT_THAT(page, HasSubstr("missing: melting_i2t is not in the record"));
}

TEST(MarginsText, ClaimsNothingWhenNothingWasJudged) {
  const std::string page = margins_text(test::demo_rig(), {}, kAscii);
  EXPECT_THAT(page, HasSubstr("RESULT: NO VERDICT. Nothing could be judged."));
  EXPECT_EQ(margins_verdict({}), core::Verdict::no_verdict);
}

// ---- bleed ----------------------------------------------------------------------------------

TEST(BleedText, PutsNeverBeforeTheLongestTime) {
  const std::string page = bleed_text(test::demo_rig(), test::sample_bleed(), kAscii);
  EXPECT_THAT(page, HasSubstr("R6 open: NEVER below 50 V through the paths that are left"));
  EXPECT_THAT(page,
              HasSubstr("predicted below 50 V after 3.5 s with every\n  bleeder part intact"));
  EXPECT_LT(page.find("R6 open        C4"), page.find("R3 open        C2"));
  EXPECT_THAT(page, HasSubstr("21 min"));
}

// The limits hold with all paths intact: the result line alone would lull.
TEST(BleedText, SaysNeverRightBesideTheResult) {
  BleedResult result = test::sample_bleed();
  result.findings.front().verdict = core::Verdict::safe;
  const std::string page = bleed_text(test::demo_rig(), result, kAscii);
  EXPECT_THAT(page,
              HasSubstr("RESULT: no limit exceeded, of 1 judged, under the assumptions below.\n"
                        "        NO LIMIT JUDGES what is marked ! below."));
  EXPECT_THAT(page, HasSubstr("! C4 empties itself only while R6 is whole."));
}

TEST(BleedText, SaysTheReboundInATableOfItsOwn) {
  const std::string page = bleed_text(test::demo_rig(), test::sample_bleed(), kAscii);
  EXPECT_THAT(page, HasSubstr("REBOUND: what comes back"));
  EXPECT_THAT(page, HasSubstr("112 V"));
  EXPECT_THAT(page, HasSubstr("90 min"));
}

TEST(BleedText, OrdersTheWorkAfterSwitchOff) {
  const std::string page = bleed_text(test::demo_rig(), test::sample_bleed(), kAscii);
  const auto measure = page.find("3. Measure"), resistor = page.find("4. Resistor first"),
             hook = page.find("6. Hook");
  EXPECT_NE(hook, std::string::npos);
  EXPECT_LT(measure, resistor);
  EXPECT_LT(resistor, hook);
}

TEST(BleedText, SaysSoWhenACaseHasNoAnswer) {
  BleedResult result = test::sample_bleed();
  result.cases[1].failure = "the network has no path";
  result.findings.clear();
  const std::string page = bleed_text(test::demo_rig(), result, kAscii);
  EXPECT_THAT(page,
              HasSubstr("NO ANSWER: the network has no path. Treat the capacitors as charged"));
  EXPECT_EQ(bleed_verdict(result), core::Verdict::no_verdict);
}

TEST(BleedVerdict, IsNoVerdictWithoutACase) {
  BleedResult result = test::sample_bleed();
  result.cases.clear();
  result.findings.front().verdict = core::Verdict::safe;
  EXPECT_EQ(bleed_verdict(result), core::Verdict::no_verdict);
}

// ---- inrush ---------------------------------------------------------------------------------

TEST(InrushText, NamesTheWorstAngleAndThatNobodyCanChooseIt) {
  const std::string page = inrush_text(test::demo_rig(), test::sample_inrush(), kAscii);
  EXPECT_THAT(page, HasSubstr("Peak of the first cycle: 38.2 A, closed at 90 deg"));
  EXPECT_THAT(page, HasSubstr("nor know which way the core was left"));
  EXPECT_THAT(page, HasSubstr("180 deg: no answer"));
}

TEST(InrushVerdict, IsNoVerdictWhenARunFailed) {
  InrushResult result = test::sample_inrush();
  EXPECT_EQ(inrush_verdict(result), core::Verdict::no_verdict);
  EXPECT_THAT(inrush_text(test::demo_rig(), result, kAscii),
              HasSubstr("RESULT: NO VERDICT. Some runs gave no answer"));
  result.points.pop_back();
  EXPECT_EQ(inrush_verdict(result), core::Verdict::safe);
}

// ---- rampup ---------------------------------------------------------------------------------

TEST(RampupSheets, HasOneSheetPerStageAndLamp) {
  const std::string page = rampup_sheets_text(test::demo_rig(), test::sample_rampup(), kAscii);
  EXPECT_THAT(page, HasSubstr("SHEET 1 of 2: tubes out, LAMP IN SERIES"));
  EXPECT_THAT(page, HasSubstr("SHEET 2 of 2: tubes out, no lamp"));
  EXPECT_THAT(page, HasSubstr("     120   552      588   624  4.71     4.90  5.08   1.32    4.08"));
  EXPECT_THAT(page, HasSubstr("*8/89"));
}

TEST(RampupSheets, PrintsStopLimitsBeforeTheReadings) {
  const std::string page = rampup_sheets_text(test::demo_rig(), test::sample_rampup(), kAscii);
  EXPECT_LT(page.find("STOP: pull the plug first"), page.find("Mains side"));
  EXPECT_THAT(page, HasSubstr("     120   0.600    528    660"));
}

// 588 V nominal at 120 V; the stop limit and the band beside it, and no sheet.
TEST(RampupText, HasOneLadderPerStageWithTheSupplyToWatch) {
  const std::string page = rampup_text(test::demo_rig(), test::sample_rampup(), kAscii);
  EXPECT_THAT(page, HasSubstr("STAGE 1: tubes out"));
  EXPECT_THAT(page, HasSubstr("With the lamp:"));
  EXPECT_THAT(page, HasSubstr("Without lamp:"));
  EXPECT_THAT(page, testing::ContainsRegex(" 120 .* 0.600 .* 552 +588 +624"));
  EXPECT_THAT(page, Not(HasSubstr("SHEET")));
}

// The failed step has no number anywhere, only the reason.
TEST(RampupText, GivesNoReadingForAFailedStep) {
  const std::string page = rampup_text(test::demo_rig(), test::sample_rampup(), kAscii);
  EXPECT_THAT(page,
              HasSubstr("? 127 V: NO PREDICTION, do not go there: the solver gave up near C1"));
  EXPECT_THAT(page, Not(HasSubstr("     127  ")));
  EXPECT_EQ(rampup_verdict(test::sample_rampup()), core::Verdict::no_verdict);
}

// A screen node is no filter node, but 400 V DC on it must not hide behind its small AC.
TEST(RampupSheets, PrintsTheDcOfEveryNodeThatHasIt) {
  RampupResult result = test::sample_rampup();
  for (RampPass& pass : result.passes) {
    for (RampStep& step : pass.steps) {
      step.nodes.push_back({"SCREEN", {390.0, 412.0, 430.0}, 0.7, 2.0, {3.2, 3.4, 3.6}, false});
    }
  }
  const std::string page = rampup_sheets_text(test::demo_rig(), result, kAscii);
  EXPECT_THAT(page, HasSubstr("SCREEN to chassis."));
  EXPECT_THAT(page, HasSubstr("412"));
}

TEST(RampupVerdict, IsNoVerdictWithoutAStep) {
  EXPECT_EQ(rampup_verdict({}), core::Verdict::no_verdict);
}

}  // namespace
}  // namespace firstglow::sim
