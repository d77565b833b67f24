/// @file
/// What must the bench sheet say on every page, and what can text of a record never become on it?

#include "sim/report/sheet/sheet.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <utility>

#include "sim/report/sheet/content_policy.hpp"
#include "sim/report/sheet/html.hpp"
#include "sim/report/sheet/longest_discharge.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/volt_class.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr const char* kMarkup = "<script>alert('x')</script><img src=x onerror=\"y()\"> & \x1b[2J";

SheetAnswers sample_answers() {
  SheetAnswers answers;
  answers.check = test::sample_check();
  answers.rampup.result = test::sample_rampup();
  answers.margins.result = test::sample_margins();
  answers.bleed.result = test::sample_bleed();
  answers.inrush.result = test::sample_inrush();
  answers.stick.failure = "the worker did not start";
  answers.stacks.result = StacksResult{};
  answers.scope.result = ScopeResult{};
  return answers;
}

std::string sheet_of(const core::Rig& rig, const SheetAnswers& answers) {
  const SheetHead head{"2026-11-28", "", "", ""};
  return sheet_html({rig, answers, head, sheet_facts(rig, RampupOptions{}, head.date)});
}

std::string demo_sheet() {
  const core::Rig rig = test::demo_rig();
  const SheetAnswers answers = sample_answers();
  return sheet_of(rig, answers);
}

/// The demo with markup in every text a person can write into a record.
core::Rig hostile_rig() {
  core::Rig rig = test::demo_rig();
  rig.name = kMarkup;
  rig.description = kMarkup;
  rig.file = kMarkup;
  for (core::Node& node : rig.nodes) {
    node.name += kMarkup;
  }
  for (core::Part& part : rig.parts) {
    part.designator += kMarkup;
    part.type += kMarkup;
    part.note = kMarkup;
    if (auto* transformer = std::get_if<core::PowerTransformer>(&part.data)) {
      transformer->secondaries.front().name = kMarkup;
    }
  }
  return rig;
}

std::size_t count_of(const std::string& text, const std::string& word) {
  std::size_t count = 0;
  for (auto at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) {
    ++count;
  }
  return count;
}

/// The text between the first `begin` and the next `end`.
std::string between(const std::string& text, const std::string& begin, const std::string& end) {
  const auto from = text.find(begin) + begin.size();
  return text.substr(from, text.find(end, from) - from);
}

/// The page without what stands in its style and its script.
std::string markup_of(std::string page) {
  for (const auto& [begin, end] :
       {std::pair<std::string, std::string>{"<style>", "</style>"}, {"<script>", "</script>"}}) {
    const auto from = page.find(begin) + begin.size();
    page.erase(from, page.find(end, from) - from);
  }
  return page;
}

/// Does any tag have this attribute? Quoted values are not looked into.
bool has_attribute(const std::string& page, const std::string& name) {
  const std::string wanted = " " + name + "=";
  bool in_tag = false;
  for (std::size_t i = 0; i < page.size(); ++i) {
    if (in_tag && page.compare(i, wanted.size(), wanted) == 0) {
      return true;
    }
    if (page.compare(i, 2, "=\"") == 0) {
      i = page.find('"', i + 2);
    }
    in_tag = page[i] == '<' || (in_tag && page[i] != '>');
  }
  return false;
}

TEST(Html, EscapesWhatCouldBecomeMarkup) {
  Html html;
  html.element("p", kMarkup, {{"title", "\" onclick=\"x"}});
  const std::string text = html.take().html;
  EXPECT_THAT(text, HasSubstr("&lt;script&gt;"));
  EXPECT_THAT(text, HasSubstr("title=\"&quot; onclick=&quot;x\""));
  EXPECT_THAT(text, Not(HasSubstr("\x1b")));
}

TEST(Html, IdsOfDifferentTextsDiffer) {
  EXPECT_NE(html_id("B+"), html_id("B-"));
  EXPECT_NE(html_id("a b"), html_id("a_20b"));
  EXPECT_EQ(html_id("tubes-out"), "tubes-out");
}

// SHA-256 of the empty text and of "abc" [FIPS-180-4], in base64.
TEST(ContentPolicy, HashIsTheOneOfTheStandard) {
  EXPECT_EQ(policy_hash(""), "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=");
  EXPECT_EQ(policy_hash("abc"), "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

TEST(Sheet, PolicyAllowsItsOwnStyleAndScriptAndNothingElse) {
  const std::string page = demo_sheet();
  const std::string policy = between(page, "Content-Security-Policy\" content=\"", "\"");
  EXPECT_THAT(policy, HasSubstr("default-src 'none'"));
  EXPECT_THAT(policy, HasSubstr("'" + policy_hash(between(page, "<style>", "</style>")) + "'"));
  EXPECT_THAT(policy, HasSubstr("'" + policy_hash(between(page, "<script>", "</script>")) + "'"));
  EXPECT_THAT(policy, Not(HasSubstr("unsafe-inline")));
  EXPECT_LT(page.find("Content-Security-Policy"), page.find("<style>"));
}

TEST(Sheet, HasNoStyleAttributeNoHandlerAndNoOutsideAddress) {
  const std::string page = markup_of(demo_sheet());
  EXPECT_FALSE(has_attribute(page, "style"));
  EXPECT_FALSE(has_attribute(page, "on[a-z]+"));
  EXPECT_TRUE(has_attribute(page, "class")) << "the pattern itself works";
  EXPECT_THAT(page, Not(HasSubstr("http:")));
  EXPECT_THAT(page, Not(HasSubstr("https:")));
  EXPECT_THAT(page, Not(HasSubstr("xlink")));
}

TEST(Sheet, ShowsMarkupOfARecordAsText) {
  const core::Rig rig = hostile_rig();
  SheetAnswers answers = sample_answers();
  for (core::Finding& finding : answers.margins.result->findings) {
    finding.part = finding.note = finding.situation = finding.limit_source = kMarkup;
  }
  for (RampPass& pass : answers.rampup.result->passes) {
    for (RampStep& step : pass.steps) {
      step.remarks = {kMarkup};
      for (NodeReading& node : step.nodes) {
        node.node += kMarkup;
      }
    }
  }
  answers.rampup.result->assumptions.emplace_back(kMarkup);
  answers.bleed.result->warnings.emplace_back(kMarkup);
  const std::string page = markup_of(sheet_of(rig, answers));
  EXPECT_EQ(count_of(page, "<script"), 1U) << "the sheet's own";
  EXPECT_EQ(count_of(page, "<img"), 0U);
  EXPECT_GT(count_of(page, "&lt;script&gt;alert"), rig.parts.size());
  EXPECT_FALSE(has_attribute(page, "on[a-z]+"));
  EXPECT_THAT(page, Not(HasSubstr("\x1b")));
}

TEST(Sheet, EveryPageBeginsWithTheCautions) {
  const core::Rig rig = test::demo_rig();
  const SheetAnswers answers = sample_answers();
  const SheetInput input{rig, answers, {}, sheet_facts(rig, RampupOptions{}, "")};
  const std::string front = front_page(input).html;
  EXPECT_THAT(front, HasSubstr("Never alone"));
  EXPECT_THAT(front, HasSubstr("[NAVY-SAFETY]"));
  EXPECT_THAT(front, HasSubstr("person licensed"));
  const std::string page = demo_sheet();
  EXPECT_EQ(count_of(page, "<section class=\"page"),
            count_of(page, "<p class=\"caution\">This kills") + 1)
      << "all but the front page, which has them at length";
}

TEST(Sheet, HasEveryPageOfItsContents) {
  const core::Rig rig = test::demo_rig();
  const SheetAnswers answers = sample_answers();
  const SheetInput input{rig, answers, {}, sheet_facts(rig, RampupOptions{}, "")};
  const std::string page = sheet_of(rig, answers);
  for (const PageName& name : page_names(input)) {
    EXPECT_EQ(count_of(page, " id=\"" + name.id + "\""), 1U) << name.id;
    EXPECT_THAT(page, HasSubstr("href=\"#" + name.id + "\""));
  }
}

TEST(Sheet, EveryIdIsUnique) {
  const std::string page = markup_of(demo_sheet());
  std::vector<std::string> ids;
  const std::string mark = " id=\"";
  for (auto at = page.find(mark); at != std::string::npos; at = page.find(mark, at)) {
    at += mark.size();
    ids.push_back(page.substr(at, page.find('"', at) - at));
  }
  std::sort(ids.begin(), ids.end());
  const auto twice = std::adjacent_find(ids.begin(), ids.end());
  EXPECT_EQ(twice, ids.end()) << *twice;
  EXPECT_GT(ids.size(), 100U);
}

/// The sample's step of 127 V failed: 624 V at 120 V must not pass for full mains. Without that
/// step 120 V is full.
TEST(Sheet, NamesEveryNodeAboveTheTouchLimit) {
  const core::Rig rig = test::demo_rig();
  SheetAnswers answers = sample_answers();
  const auto page_of = [&] {
    return volts_page({rig, answers, {}, sheet_facts(rig, RampupOptions{}, "")}).html;
  };
  EXPECT_THAT(page_of(), HasSubstr("NO PREDICTION: treat every node as live"));
  EXPECT_THAT(page_of(), Not(HasSubstr("B+ 624 V DC")));
  answers.rampup.result->passes.back().steps.pop_back();
  const std::string page = page_of();
  std::size_t live = 0;
  for (const StageVolts& stage : stage_volts(rig, *answers.rampup.result)) {
    for (const NodeVolts& node : stage.nodes) {
      if (node.volt_class > VoltClass::below_42) {
        EXPECT_THAT(page, HasSubstr(node.node));
        ++live;
      }
    }
  }
  EXPECT_GE(live, 2U);
  EXPECT_THAT(page, HasSubstr("B+ 624 V DC")) << "120 V times 5.2, upper end of the sample's band";
}

// A study without an answer must not leave a sheet that looks whole.
TEST(Sheet, WithoutAnAnswerGivesNoVerdict) {
  const core::Rig rig = test::demo_rig();
  SheetAnswers answers;
  answers.check = test::sample_check();
  for (std::string* failure :
       {&answers.rampup.failure, &answers.margins.failure, &answers.bleed.failure,
        &answers.stick.failure, &answers.inrush.failure, &answers.stacks.failure,
        &answers.scope.failure}) {
    *failure = "the worker did not start";
  }
  EXPECT_EQ(sheet_verdict(answers), core::Verdict::no_verdict);
  const std::string page = sheet_of(rig, answers);
  EXPECT_THAT(page, HasSubstr("NO VERDICT"));
  EXPECT_THAT(page, HasSubstr("NO ANSWER here: the worker did not start"));
  EXPECT_THAT(page, HasSubstr("treat as charged"));
  EXPECT_THAT(page, Not(HasSubstr("No limit exceeded")));
}

TEST(Sheet, OneMissingStudyTakesTheVerdict) {
  SheetAnswers answers = sample_answers();
  std::erase_if(answers.margins.result->findings, [](const core::Finding& finding) {
    return finding.verdict != core::Verdict::safe;
  });
  for (auto* findings : {&answers.rampup.result->findings, &answers.bleed.result->findings,
                         &answers.inrush.result->findings}) {
    findings->clear();
  }
  EXPECT_EQ(sheet_verdict(answers), core::Verdict::no_verdict);
  answers.stick.result = StickResult{};
  EXPECT_EQ(sheet_verdict(answers), core::Verdict::safe);
}

// The owner's rule, as for the pages of the terminal.
TEST(Sheet, NeverSaysThatSomethingMayBeTouched) {
  std::string page = markup_of(demo_sheet());
  std::transform(page.begin(), page.end(), page.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  EXPECT_THAT(page, Not(HasSubstr("safe to")));
  EXPECT_THAT(page, Not(HasSubstr("is safe")));
  EXPECT_THAT(page, Not(HasSubstr("may touch")));
}

TEST(VoltClass, BoundsAreThoseOfTheSources) {
  const core::Rig rig = test::demo_rig();
  const auto class_of = [&rig](double dc_v) {
    RampupResult rampup;
    RampPass pass;
    RampStep step;
    NodeReading node;
    node.node = "B+";
    node.dc_v = {0.0, dc_v, dc_v};
    step.nodes = {node};
    pass.steps = {step};
    rampup.passes = {pass};
    return stage_volts(rig, rampup).front().nodes.front().volt_class;
  };
  EXPECT_EQ(class_of(42.4), VoltClass::below_42);
  EXPECT_EQ(class_of(42.5), VoltClass::from_42);
  EXPECT_EQ(class_of(60.0), VoltClass::from_42);
  EXPECT_EQ(class_of(60.1), VoltClass::from_60);
  EXPECT_EQ(class_of(600.0), VoltClass::from_60);
  EXPECT_EQ(class_of(600.1), VoltClass::above_600);
}

TEST(VoltClass, WhatWasNotPredictedIsNeverCalledLow) {
  const core::Rig rig = test::demo_rig();
  for (const NodeVolts& node : worst_volts(rig, {})) {
    EXPECT_TRUE(node.volt_class == VoltClass::unknown || node.volt_class == VoltClass::mains)
        << node.node;
  }
}

/// One stage, B+ on a step of 90 V and one of 120 V of the variac.
RampPass two_steps(double at_90_v, double at_120_v) {
  RampPass pass;
  for (const auto& [variac_v, dc_v] : {std::pair{90.0, at_90_v}, std::pair{120.0, at_120_v}}) {
    RampStep step;
    step.variac_vrms = variac_v;
    NodeReading node;
    node.node = "B+";
    node.dc_v = {dc_v, dc_v, dc_v};
    step.nodes = {node};
    pass.steps.push_back(step);
  }
  return pass;
}

/// 50 V on a lower step says nothing of full mains, nor does a pass behind a lamp, nor another
/// stage.
TEST(VoltClass, AFailedFullStepLeavesTheVoltsUnknown) {
  const core::Rig rig = test::demo_rig();
  RampPass failed = two_steps(50.0, 0.0);
  failed.steps[1].failure = "no steady state found";
  failed.steps[1].nodes.clear();
  RampPass with_lamp = two_steps(20.0, 30.0);
  with_lamp.with_lamp = true;
  RampPass other = two_steps(10.0, 20.0);
  other.stage = netlists::Stage::filter;
  RampupResult rampup;
  rampup.passes = {with_lamp, failed, other};
  const std::vector<StageVolts> stages = stage_volts(rig, rampup);
  ASSERT_EQ(stages.size(), 2U);
  EXPECT_FALSE(stages[0].known);
  EXPECT_TRUE(stages[1].known);
  for (const NodeVolts& node : worst_volts(rig, stages)) {
    EXPECT_TRUE(node.node != "B+" || (node.volt_class == VoltClass::unknown && node.peak_v == 0.0));
  }
  rampup.passes = {with_lamp, two_steps(50.0, 610.0), other};
  for (const NodeVolts& node : worst_volts(rig, stage_volts(rig, rampup))) {
    EXPECT_TRUE(node.node != "B+" || node.volt_class == VoltClass::above_600);
  }
}

/// 480 V intact and 620 V with an equaliser open: what is said is 620 V; and nothing while one case
/// has no answer.
TEST(LongestDischarge, StartsFromTheHighestVoltsOfAnyCase) {
  BleedResult bleed;
  for (const double start_v : {480.0, -620.0, 470.0}) {
    DischargeCase one;
    CapacitorDischarge can;
    can.part = "C1";
    can.start_v = start_v;
    one.capacitors = {can};
    bleed.cases.push_back(one);
  }
  EXPECT_EQ(start_volts(bleed, "C1"), 620.0);
  EXPECT_EQ(start_volts(bleed, "C9"), std::nullopt);
  bleed.cases[2].failure = "no answer";
  EXPECT_EQ(start_volts(bleed, "C1"), std::nullopt);
}

TEST(VoltClass, MainsSideStaysLiveWhateverWasComputed) {
  const core::Rig rig = test::demo_rig();
  for (const NodeVolts& node : worst_volts(rig, {})) {
    const bool mains = node.node == "LINE" || node.node == "NEUTRAL" || node.node == "PRI1";
    EXPECT_EQ(node.volt_class == VoltClass::mains, mains) << node.node;
  }
}

}  // namespace
}  // namespace firstglow::sim
