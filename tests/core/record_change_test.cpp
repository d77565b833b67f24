#include "core/record_change.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/record_template.hpp"
#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

std::string demo_file() {
  return std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/wrenfield-75/rig.yaml";
}

RecordNode demo_tree() { return read_record_file(demo_file()); }

Rig changed_demo(const std::string& text) {
  RecordNode record = demo_tree();
  const auto change = parse_change(text);
  if (!change) {
    throw Error("no change: " + text);
  }
  apply_change(record, *change, demo_file());
  return read_rig_record(record, demo_file());
}

std::string fault_of(const std::string& text) {
  try {
    static_cast<void>(changed_demo(text));
  } catch (const InputError& error) {
    return error.what();
  }
  return "no fault";
}

TEST(ParseChange, TellsTypesFromKeys) {
  const auto type = parse_change("D1+D2=3x1N4007");
  ASSERT_TRUE(type);
  EXPECT_THAT(type->parts, ElementsAre("D1", "D2"));
  EXPECT_EQ(type->in_series, 3);
  EXPECT_EQ(type->value, "1N4007");
  const auto key = parse_change("C1.working_volts=500 V");
  ASSERT_TRUE(key);
  EXPECT_THAT(key->parts, ElementsAre("C1"));
  EXPECT_EQ(key->key, "working_volts");
  EXPECT_EQ(key->value, "500 V");
}

// A type that starts with a digit is no count: 5R4GYB, and 6X4 has a capital X.
TEST(ParseChange, TakesNoTypeForACount) {
  EXPECT_EQ(parse_change("D1=6X4")->value, "6X4");
  EXPECT_EQ(parse_change("D1=5R4GYB")->in_series, 1);
}

TEST(ParseChange, RefusesWhatHasNoForm) {
  for (const char* text : {"", "D1", "=1N4007", "D1=", "+D2=1N4007"}) {
    EXPECT_FALSE(parse_change(text)) << text;
  }
}

TEST(ApplyChange, SetsAKeyAndForgetsTheOldReading) {
  const Rig rig = changed_demo("R1.value=100k");
  const auto& resistor = std::get<Resistor>(rig.find("R1")->data);
  EXPECT_FALSE(resistor.value.measured);
  EXPECT_DOUBLE_EQ(resistor.value.nominal().si(), 100e3);
}

TEST(ApplyChange, PutsAnotherTypeInAStringOfAnotherLength) {
  const Rig rig = changed_demo("D1=2x1N5408");
  const auto& diode = std::get<SiliconDiode>(rig.find("D1")->data);
  EXPECT_EQ(diode.in_series, 2);
  EXPECT_DOUBLE_EQ(diode.average_current->si(), 3.0);
}

TEST(ApplyChange, SaysWhatIsUnknownWithTheNearestName) {
  EXPECT_THAT(fault_of("D1=1N9999"), HasSubstr("'1N9999' is no type of the part library"));
  EXPECT_THAT(fault_of("C11.value=1u"), HasSubstr("did you mean 'C1'?"));
  EXPECT_THAT(fault_of("C1.volts=1V"), HasSubstr("'volts' is no key of kind electrolytic"));
  EXPECT_THAT(fault_of("L1=1N4007"), HasSubstr("kind choke cannot become silicon_diode"));
}

// One twin tube becomes two diodes on its plates; the heater winding's far end is left insulated.
TEST(ApplyChange, TurnsATwinTubeIntoTwoDiodes) {
  const std::string file = std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/tolland-75/rig.yaml";
  RecordNode record = read_record_file(file);
  const ChangeEffect effect = apply_change(record, *parse_change("V1=3x1N4007"), file);
  EXPECT_THAT(effect.parts, ElementsAre("V1.1", "V1.2"));
  const Rig rig = read_rig_record(record, file);
  EXPECT_EQ(rig.find("V1"), nullptr);
  EXPECT_EQ(std::get<SiliconDiode>(rig.find("V1.2")->data).in_series, 3);
}

// Two diodes with one cathode become a twin tube with a heater winding of its own, and back.
TEST(ApplyChange, TurnsTwoDiodesIntoATwinTubeAndBack) {
  RecordNode record = demo_tree();
  apply_change(record, *parse_change("D1+D2=5R4GYB"), demo_file());
  EXPECT_EQ(read_rig_record(record, demo_file()).find("D1")->kind, "vacuum_rectifier");
  apply_change(record, *parse_change("D1=3x1N4007"), demo_file());
  EXPECT_EQ(read_rig_record(record, demo_file()).find("D1.1")->kind, "silicon_diode");
}

// A value of the wrong dimension is the reader's fault, at the line of the part.
TEST(ApplyChange, LeavesValuesToTheReader) {
  EXPECT_THAT(fault_of("C1.working_volts=500 A"), HasSubstr("rig.yaml:"));
}

TEST(AddSeriesResistor, StandsBetweenTheCathodesAndTheChoke) {
  RecordNode record = demo_tree();
  ASSERT_TRUE(add_series_resistor(record, {"D1", "D2"}, 120.0));
  const Rig rig = read_rig_record(record, demo_file());
  const Part& added = rig.parts.back();
  const auto& resistor = std::get<Resistor>(added.data);
  EXPECT_DOUBLE_EQ(resistor.value.nominal().si(), 120.0);
  EXPECT_EQ(rig.node_name(resistor.b), "RECT");
  EXPECT_EQ(std::get<SiliconDiode>(rig.find("D1")->data).cathode, resistor.a);
  EXPECT_FALSE(add_series_resistor(record, {"D1", "D3"}, 120.0));
  EXPECT_FALSE(add_series_resistor(record, {"L1"}, 120.0));
}

TEST(FitStockPart, ReplacesRatingsAndForgetsWhatIsNotMarked) {
  RecordNode record = demo_tree();
  StockPart part;
  part.name = "A3";
  part.value = "47 uF";
  part.volts = "500 V";
  fit_stock_part(record, "C1", part, demo_file());
  const Rig rig = read_rig_record(record, demo_file());
  const auto& capacitor = std::get<Capacitor>(rig.find("C1")->data);
  EXPECT_DOUBLE_EQ(capacitor.value.nominal().si(), 47e-6);
  EXPECT_DOUBLE_EQ(capacitor.working_volts->si(), 500.0);
  EXPECT_FALSE(capacitor.surge_volts);
  EXPECT_FALSE(capacitor.leakage);
}

TEST(FitStockPart, WantsTheValueAndAKindItKnows) {
  RecordNode record = demo_tree();
  EXPECT_THROW(fit_stock_part(record, "C1", {}, demo_file()), InputError);
  EXPECT_THROW(fit_stock_part(record, "T1", {}, demo_file()), InputError);
}

TEST(ExplainedKeys, LeaveTheRecordAsItWas) {
  const std::string text = small_record();
  const std::string form = with_explained_keys(text);
  EXPECT_THAT(form, HasSubstr("# mains_inlet: the mains socket"));
  EXPECT_THAT(form, HasSubstr("source_resistance"));
  EXPECT_EQ(read_rig_text(form, "form").parts.size(), read_rig_text(text, "record").parts.size());
}

}  // namespace
}  // namespace firstglow::core
