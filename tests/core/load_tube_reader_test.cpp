// vr_tube and power_tube entries: what the reader makes of them, and what it refuses.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

constexpr const char* kLoad =
    "  LOAD: {kind: current_load, nodes: {plus: B+, minus: CHASSIS}, value: 50 mA, when: key_down}";

std::string record_with(const std::string& line) { return edited(small_record(), kLoad, line); }

template <class Kind>
Kind read_part(const std::string& designator, const std::string& entry) {
  const Rig rig = read_rig_text(record_with("  " + designator + ": " + entry), "rig.yaml");
  return std::get<Kind>(rig.find(designator)->data);
}

PowerTube read_tube(const std::string& fields) {
  return read_part<PowerTube>(
      "V1", "{kind: power_tube, " + fields +
                ", nodes: {plate: B+, screen: open, grid: CHASSIS, cathode: CHASSIS}}");
}

TEST(LoadTubeReader, FillsARegulatorFromItsType) {
  const auto tube =
      read_part<VrTube>("VR1", "{kind: vr_tube, type: 0a2, nodes: {plus: B+, minus: CHASSIS}}");
  EXPECT_EQ(tube.run, Volts(150.0));
  EXPECT_EQ(tube.strike, Volts(185.0));
  EXPECT_EQ(tube.least, Amps(0.005));
  EXPECT_EQ(tube.most, Amps(0.030));
}

TEST(LoadTubeReader, TakesARegulatorWithoutTypeByItsFigures) {
  const auto tube = read_part<VrTube>(
      "VR1",
      "{kind: vr_tube, run_volts: 90 V, strike_volts: 125 V, least_current: 10 mA, "
      "most_current: 30 mA, regulation: 6 V, nodes: {plus: B+, minus: CHASSIS}}");
  EXPECT_EQ(tube.run, Volts(90.0));
  EXPECT_EQ(tube.regulation, Volts(6.0));
}

TEST(LoadTubeReader, NamesTheTypesItKnowsWhenFiguresAreMissing) {
  EXPECT_THAT(faults_of(record_with(
                  "  VR1: {kind: vr_tube, run_volts: 90 V, nodes: {plus: B+, minus: CHASSIS}}")),
              testing::AllOf(HasSubstr("'strike_volts'"), HasSubstr("0A2"), HasSubstr("0D3")));
  EXPECT_THAT(faults_of(record_with(
                  "  VR1: {kind: vr_tube, type: 0A9, nodes: {plus: B+, minus: CHASSIS}}")),
              HasSubstr("'0A9' is not in the part library"));
}

TEST(LoadTubeReader, RefusesARegulatorThatStrikesBelowItsRunVolts) {
  EXPECT_THAT(faults_of(record_with("  VR1: {kind: vr_tube, type: 0A2, strike_volts: 120 V, "
                                    "nodes: {plus: B+, minus: CHASSIS}}")),
              HasSubstr("below the run volts 150 V"));
  EXPECT_THAT(faults_of(record_with("  VR1: {kind: vr_tube, type: 0A2, most_current: 4 mA, "
                                    "nodes: {plus: B+, minus: CHASSIS}}")),
              HasSubstr("not above the least current"));
}

TEST(LoadTubeReader, TakesTheLowerRatingsUnlessToldOtherwise) {
  const PowerTube plain = read_tube("type: 6146B");
  EXPECT_EQ(plain.ratings.plate_watts, Watts(27.0));
  EXPECT_EQ(plain.count, 1);
  EXPECT_EQ(plain.key, TubeKey::none);
  ASSERT_TRUE(plain.driven.has_value());
  EXPECT_EQ(plain.driven->plate_current, Amps(0.112));
  EXPECT_EQ(read_tube("type: 6146B, service: amateur").ratings.plate_watts, Watts(35.0));
  EXPECT_EQ(read_tube("type: 6146B, plate_watts: 20 W").ratings.plate_watts, Watts(20.0));
}

TEST(LoadTubeReader, LeavesTheDrivenPointOutOfAnUndrivenTube) {
  EXPECT_FALSE(read_tube("type: 6146B, key_down: undriven").driven.has_value());
  EXPECT_FALSE(read_tube("type: 6L6GC").driven.has_value());
  const PowerTube own = read_tube(
      "type: 6L6GC, driven_plate_volts: 400 V, driven_plate_current: 90 mA, "
      "driven_screen_volts: 250 V, driven_screen_current: 8 mA");
  ASSERT_TRUE(own.driven.has_value());
  EXPECT_EQ(own.driven->plate, Volts(400.0));
  EXPECT_FALSE(own.driven->output.has_value());
}

// A new current at the published volts puts out something that nobody published.
TEST(LoadTubeReader, ForgetsThePublishedOutputOfAChangedPoint) {
  const PowerTube own = read_tube("type: 6146B, driven_plate_current: 100 mA");
  EXPECT_EQ(own.driven->plate, Volts(600.0));
  EXPECT_FALSE(own.driven->output.has_value());
}

TEST(LoadTubeReader, RefusesWhatNoTubeCanBe) {
  const auto faults = [](const std::string& fields) {
    return faults_of(record_with("  V1: {kind: power_tube, " + fields + "}"));
  };
  constexpr const char* kNodes =
      ", nodes: {plate: B+, screen: open, grid: CHASSIS, cathode: CHASSIS}";
  EXPECT_THAT(faults(std::string("type: 6146X") + kNodes), HasSubstr("6146B"));
  EXPECT_THAT(faults(std::string("count: 2") + kNodes), HasSubstr("key 'type' is missing"));
  EXPECT_THAT(faults(std::string("type: 6L6GC, key_down: driven") + kNodes),
              HasSubstr("no driven point"));
  EXPECT_THAT(faults(std::string("type: 6L6GC, driven_plate_volts: 400 V") + kNodes),
              HasSubstr("incomplete"));
  EXPECT_THAT(
      faults("type: 12AX7, nodes: {plate: B+, screen: B+, grid: CHASSIS, cathode: CHASSIS}"),
      HasSubstr("has no screen"));
}

}  // namespace
}  // namespace firstglow::core
