#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "core/error.hpp"
#include "sim/report/readings_report.hpp"
#include "sim/report/sheet/judged_blanks.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using nlohmann::json;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

json law_cases() {
  std::ifstream stream(std::string(FIRSTGLOW_SOURCE_DIR) + "/tests/browser/law_cases.json");
  return json::parse(stream);
}

std::optional<double> number(const json& object, const char* key) {
  return object.contains(key) && !object[key].is_null() ? std::optional(object[key].get<double>())
                                                        : std::nullopt;
}

/// The blanks of the sample's first pass (lamp in), step at 60 V.
StepBlanks sample_step() { return step_blanks(test::sample_rampup()).at(1); }

const Blank& blank_named(const StepBlanks& step, const std::string& label) {
  for (const Blank& blank : step.readings) {
    if (blank.label == label) {
      return blank;
    }
  }
  throw std::runtime_error("no blank " + label);
}

ReadingsResult judged(const std::string& text) {
  SheetFacts now;
  now.rig = "A rig";
  now.record = "r1";
  return judge_readings(read_readings_text(text, "log.csv"), now,
                        {dead_blanks(test::demo_rig()), test::sample_rampup()});
}

// The cases are by hand; the browser test holds the script of the page to the same file.
TEST(ReadingsLaw, ReadsWhatPeopleWrite) {
  const json cases = law_cases();
  for (const json& one : cases.at("written")) {
    const WrittenReading read =
        read_written(one["text"].get<std::string>(), one["unit"].get<std::string>());
    EXPECT_EQ(read.value, number(one, "value")) << one;
    EXPECT_EQ(read.fault.empty(), read.value.has_value()) << one;
  }
}

TEST(ReadingsLaw, JudgesByBandAndStopLimit) {
  const json cases = law_cases();
  for (const json& one : cases.at("judged")) {
    const json& given = one["limits"];
    const ReadingLimits limits{number(given, "low"), std::nullopt, number(given, "high"),
                               number(given, "stop_below"), number(given, "stop_above")};
    EXPECT_EQ(judgement_words(judge(limits, one["value"].get<double>())), one["judgement"]) << one;
  }
}

TEST(ReadingsLaw, WorksOutChecksFromOtherReadings) {
  const std::map<std::string, DerivedCheck::Kind> kinds{{"per", DerivedCheck::Kind::per},
                                                        {"times", DerivedCheck::Kind::times},
                                                        {"share", DerivedCheck::Kind::share}};
  const json cases = law_cases();
  for (const json& one : cases.at("checks")) {
    Blank blank;
    blank.checks = {{kinds.at(one["kind"]), "check", "", one["other"], one["base"], {}, ""}};
    const JudgedBlank result =
        judge_blank(blank, one["value"].dump(),
                    [&one](const std::string& id) { return number(one["values"], id.c_str()); });
    const std::optional<double> figure = number(one, "figure");
    ASSERT_EQ(result.checks.size(), figure ? 1U : 0U) << one;
    if (figure) {
      EXPECT_DOUBLE_EQ(result.checks.front().value, *figure) << one;
    }
  }
}

// A band of 0.14138 to 0.15962 prints as 0.141 to 0.16: a meter that shows 0.141 is inside.
TEST(ReadingsLaw, WidensBandsToThePrintedDigits) {
  const ReadingLimits printed = as_printed({0.14138, 0.15049, 0.15962, std::nullopt, 0.225738});
  EXPECT_EQ(printed.low, 0.141);
  EXPECT_EQ(printed.expected, 0.15);
  EXPECT_EQ(printed.high, 0.16);
  EXPECT_EQ(printed.stop_above, 0.226);
}

TEST(ReadingsLaw, RoundsWholeVoltsAboveAThousandAndNegativesOutwards) {
  const ReadingLimits high = as_printed({2541.7, 2600.2, 2650.1, std::nullopt, std::nullopt});
  EXPECT_EQ(high.low, 2541.0);
  EXPECT_EQ(high.high, 2651.0);
  const ReadingLimits bias = as_printed({-52.34, -48.0, -44.06, std::nullopt, std::nullopt});
  EXPECT_EQ(bias.low, -52.4);
  EXPECT_EQ(bias.high, -44.0);
  const ReadingLimits edge = as_printed({999.96, 0.0, 0.0, std::nullopt, std::nullopt});
  EXPECT_LE(*edge.low, 999.96);
  EXPECT_GE(*edge.low, 999.0);
}

// 25 kohm within 10 %: 22.5 to 27.5 kohm; the product 25000 * 1.1 is a hair above.
TEST(ReadingsLaw, DoesNotWidenForTheLastBit) {
  const ReadingLimits printed =
      as_printed({25e3 * 0.9, 25e3, 25e3 * 1.1, std::nullopt, std::nullopt}, PrintedDigits::three);
  EXPECT_EQ(printed.low, 22500.0);
  EXPECT_EQ(printed.high, 27500.0);
}

TEST(ReadingsLaw, NeverRoundsAStopLimitIntoTheBand) {
  const ReadingLimits printed = as_printed({0.1004, 0.15, 0.2004, 0.1004, 0.2004});
  EXPECT_LE(*printed.stop_below, *printed.low);
  EXPECT_GE(*printed.stop_above, *printed.high);
}

TEST(SheetBlanks, HaveIdsThatSayStageLampStepAndNode) {
  const StepBlanks step = sample_step();
  EXPECT_EQ(step.setting->id, "tubes-out/lamp/60/variac");
  EXPECT_EQ(blank_named(step, "B+ DC").id, "tubes-out/lamp/60/B+/dc");
  EXPECT_EQ(blank_named(step, "AC on B+").id, "tubes-out/lamp/60/B+/ac");
  EXPECT_EQ(blank_named(step, "Lamp volts").id, "tubes-out/lamp/60/lamp-V");
  EXPECT_EQ(blank_id({"a/b", "<i>", "B+"}), "a%2Fb/%3Ci%3E/B+");
}

TEST(SheetBlanks, AreAllDifferent) {
  std::set<std::string> ids;
  std::size_t count = 0;
  const RampupResult result = test::sample_rampup();
  for (const StepBlanks& step : step_blanks(result)) {
    for (const Blank& blank : step.readings) {
      ids.insert(blank.id);
      ++count;
    }
  }
  EXPECT_EQ(ids.size(), count);
  EXPECT_GT(count, 10U);
}

TEST(SheetBlanks, AreNoneWhereNothingIsPredicted) {
  const StepBlanks failed = step_blanks(test::sample_rampup()).back();
  EXPECT_FALSE(failed.failure.empty());
  EXPECT_TRUE(failed.readings.empty());
  EXPECT_FALSE(failed.setting.has_value());
}

// 60 V step of the sample: lamp 6 to 9 V and 0.2 to 0.4 W, mains 0.186 to 0.216 A, stop at 0.3 A.
TEST(SheetBlanks, TakeTheStopLimitOfTheMains) {
  const Blank amps = blank_named(sample_step(), "Mains current");
  EXPECT_EQ(amps.low, 0.186);
  EXPECT_EQ(amps.high, 0.216);
  EXPECT_EQ(amps.stop_above, 0.3);
}

TEST(BlankHtml, EscapesEveryText) {
  const std::string nasty = "<script>alert(1)</script>\" onfocus=\"x' & \xe2\x80\xae";
  Blank blank;
  blank.id = blank_id({nasty});
  blank.label = blank.unit = blank.where = blank.stop_why = nasty;
  blank.checks = {{DerivedCheck::Kind::per, nasty, nasty, "a", "", {}, nasty}};
  const std::string whole = blank_html(blank) + tick_html({nasty, nasty}) +
                            words_html({nasty, nasty, 1, nasty}) +
                            words_html({nasty, nasty, 3, nasty});
  EXPECT_THAT(whole, Not(HasSubstr("<script")));
  EXPECT_THAT(whole, Not(HasSubstr("\" onfocus")));
  EXPECT_THAT(whole, Not(HasSubstr("\xe2\x80\xae")));
  EXPECT_THAT(whole, HasSubstr("&lt;script&gt;alert(1)&lt;/script&gt;"));
  EXPECT_THAT(whole, Not(HasSubstr("style=")));
}

TEST(BlankHtml, JoinsLabelInputAndMark) {
  const std::string html = blank_html(blank_named(sample_step(), "B+ DC"));
  EXPECT_THAT(html, HasSubstr("for=\"blank-tubes-out/lamp/60/B+/dc\""));
  EXPECT_THAT(html, HasSubstr("id=\"blank-tubes-out/lamp/60/B+/dc\""));
  EXPECT_THAT(html, HasSubstr("inputmode=\"decimal\""));
  EXPECT_THAT(html, HasSubstr("aria-describedby=\"mark-tubes-out/lamp/60/B+/dc\""));
  EXPECT_THAT(html, HasSubstr("aria-live=\"polite\""));
  EXPECT_THAT(html, HasSubstr("data-low=\"276\""));
}

TEST(JudgedReadings, GivesVerdictsOfTheWholeSheet) {
  const std::string head = "id,reading\n";
  EXPECT_EQ(readings_verdict(judged(head + "tubes-out/lamp/60/B+/dc,294\n")), core::Verdict::safe);
  EXPECT_EQ(readings_verdict(judged(head + "tubes-out/lamp/60/B+/dc,320\n")),
            core::Verdict::unsafe);
  EXPECT_EQ(readings_verdict(judged(head + "tubes-out/lamp/60/mains-A,0.31\n")),
            core::Verdict::unsafe);
  EXPECT_EQ(readings_verdict(judged(head + "tubes-out/lamp/60/B+/dc,about 294\n")),
            core::Verdict::no_verdict);
  EXPECT_EQ(readings_verdict(judged(head + "tubes-out/lamp/61/B+/dc,294\n")),
            core::Verdict::no_verdict);
  EXPECT_EQ(readings_verdict(judged(head)), core::Verdict::no_verdict);
  EXPECT_EQ(judged(head + "tubes-out/lamp/60/mains-A,0.31\n").count(Judgement::stop), 1U);
}

// The last step of the sample failed: a reading there is never "inside".
TEST(JudgedReadings, HaveNoVerdictOnAFailedStep) {
  const ReadingsResult result = judged("id,reading\ntubes-out/no-lamp/127/B+/dc,620\n");
  EXPECT_EQ(result.without_place.size(), 1U);
  EXPECT_EQ(readings_verdict(result), core::Verdict::no_verdict);
}

TEST(JudgedReadings, FlagAPageThatSaidSomethingElse) {
  const ReadingsResult result = judged(
      "kind,id,reading,mark\n"
      "sheet,sheet/rig,A rig,\nsheet,sheet/record,r1,\n"
      "reading,tubes-out/lamp/60/B+/dc,320,inside\n");
  const std::string text = readings_text(test::demo_rig(), result, {});
  EXPECT_THAT(text, HasSubstr("the page said \"inside\", here it is \"outside\""));
}

TEST(JudgedReadings, SayWhenTheRecordHasChanged) {
  const ReadingsResult same = judged("id,reading\nsheet/record,r1\n");
  EXPECT_FALSE(same.record_changed());
  const ReadingsResult other = judged("id,reading\nsheet/rig,A rig\nsheet/record,r0\n");
  EXPECT_TRUE(other.record_changed());
  EXPECT_THAT(readings_text(test::demo_rig(), other, {}), HasSubstr("THE RECORD HAS CHANGED"));
}

/// All faults of a file, as what() prints them.
std::string faults_of(const std::string& text) {
  try {
    static_cast<void>(read_readings_text(text, "log"));
  } catch (const core::InputError& error) {
    return error.what();
  }
  return {};
}

TEST(ReadingsFile, TellsEveryFaultOfAListWithItsLine) {
  const std::string faults = faults_of(
      "kind,id,reading,colour\n"
      "reading,a/b,1,\n"
      "reading,a/b,2,\n"
      "dream,c/d,3,\n"
      "reading,,4,\n"
      "sheet,sheet/steps,10 x,\n"
      "reading,e/f,0,39,5\n");
  for (const char* part :
       {"log:1:17: heading 'colour'", "log:3:1: 'a/b' is there twice, first on line 2",
        "log:4:1: kind 'dream' is none", "log:5:1: an entry with no id",
        "log:6:1: steps of the sheet: 'x' is no number", "log:7:1: 5 cells"}) {
    EXPECT_THAT(faults, HasSubstr(part));
  }
}

TEST(ReadingsFile, TellsFaultsOfJsonWithTheirLine) {
  EXPECT_THAT(faults_of("{\n \"format\": \"firstglow readings\",\n \"version\": 1,\n"
                        " \"readings\": [\n  {\"id\": \"a\", \"written\": 610},\n"
                        "  {\"written\": \"5\"},\n  7\n ]\n}\n"),
              testing::AllOf(HasSubstr("log:5:26: 'written' is no text"),
                             HasSubstr("log:6:3: 'id' is missing"),
                             HasSubstr("log:7:3: an entry of 'readings' is no object")));
  EXPECT_THAT(faults_of("{\n \"format\": \"firstglow readings\",\n oops\n}"), HasSubstr("log:3:"));
  EXPECT_THAT(faults_of("{\"format\": \"a\", \"format\": \"b\"}"), HasSubstr("there twice"));
  EXPECT_THAT(faults_of("[]"), HasSubstr("this holds no readings"));
  EXPECT_THAT(faults_of(std::string(40, '[')), HasSubstr("nest deeper"));
  EXPECT_THAT(faults_of(""), HasSubstr("the file is empty"));
}

TEST(ReadingsFile, ReadsBothFormsAlike) {
  const ReadingsFile csv = read_readings_text(
      "kind,id,unit,reading,mark\nsheet,sheet/rig,,A rig,\nsheet,sheet/record,,r1,\n"
      "sheet,sheet/steps,,10 20.5,\nsheet,sheet/lamp-W,,60,\nsheet,sheet/lamp-V,,120,\n"
      "sheet,sheet/without-lamp,,no,\nreading,a/b,V DC,\"-0,39\",inside\nwords,c,,'=1+1,\n",
      "a.csv");
  const ReadingsFile text = read_readings_text(
      R"({"format": "firstglow readings", "version": 1,
          "sheet": {"rig": "A rig", "record": "r1", "date": "", "steps_v_rms": [10, 20.5],
                    "stages": [], "lamp_w": 60, "lamp_v_rms": 120, "without_lamp": false},
          "readings": [{"id": "a/b", "unit": "V DC", "written": "-0,39", "mark": "inside"}],
          "words": [{"id": "c", "written": "=1+1"}]})",
      "a.json");
  for (const ReadingsFile* file : {&csv, &text}) {
    ASSERT_TRUE(file->sheet);
    EXPECT_EQ(file->sheet->rig, "A rig");
    EXPECT_EQ(file->sheet->record, "r1");
    EXPECT_THAT(file->sheet->steps_vrms, ElementsAre(10.0, 20.5));
    EXPECT_EQ(file->sheet->lamp_w, 60.0);
    EXPECT_FALSE(file->sheet->without_lamp);
    EXPECT_EQ(file->find("a/b")->written, "-0,39");
    EXPECT_EQ(file->find("a/b")->mark, "inside");
    EXPECT_EQ(file->find("c")->written, "=1+1");
    EXPECT_EQ(file->find("c")->kind, EntryKind::words);
  }
}

}  // namespace
}  // namespace firstglow::sim
