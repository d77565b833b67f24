// Records of iron, thermistors, step starts and fuses: what is taken, and what is refused and how.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

/// The small record with one more part, between the node B+ and the chassis.
std::string with_part(const std::string& part) { return small_record() + "  X1: {" + part + "}\n"; }

Rig read_with(const std::string& part) { return read_rig_text(with_part(part), "rig.yaml"); }

template <class Kind>
Kind last(const Rig& rig) {
  return std::get<Kind>(rig.parts.back().data);
}

TEST(IronRecords, TakeASwingingChoke) {
  const auto choke =
      last<Choke>(read_with("kind: choke, nodes: [B+, CHASSIS], value: 25 H, value_current: 30 mA, "
                            "loaded_inductance: 5 H,"
                            " loaded_current: 300 mA, dc_resistance: 75 ohm"));
  EXPECT_DOUBLE_EQ(choke.value_current.si(), 0.03);
  EXPECT_DOUBLE_EQ(choke.loaded_inductance.value().si(), 5.0);
  EXPECT_DOUBLE_EQ(choke.loaded_current.value().si(), 0.3);
}

TEST(IronRecords, RefuseAChokeWhoseSecondPointCannotBe) {
  const auto faults = [](const std::string& points) {
    return faults_of(
        with_part("kind: choke, nodes: [B+, CHASSIS], dc_resistance: 75 ohm, " + points));
  };
  EXPECT_THAT(faults("value: 10 H, loaded_inductance: 5 H"),
              HasSubstr("'loaded_current' is not given beside it; expected both or neither"));
  EXPECT_THAT(faults("value: 10 H, loaded_inductance: 12 H, loaded_current: 200 mA"),
              HasSubstr("is not less inductance at more current than 10 H at 0 A"));
  // 25 H x 30 mA is 0.75 Vs; 5 H x 140 mA is 0.7 Vs: less flux at more current.
  EXPECT_THAT(faults("value: 25 H, value_current: 30 mA, loaded_inductance: 5 H, "
                     "loaded_current: 140 mA"),
              HasSubstr("holds no more flux than 25 H at 0.03 A"));
  EXPECT_EQ(faults("value: 25 H, value_current: 30 mA, loaded_inductance: 5 H, "
                   "loaded_current: 160 mA"),
            "no fault");
}

TEST(IronRecords, TakeAThermistorWithItsDefaults) {
  const auto part = last<NtcLimiter>(read_with(
      "kind: ntc_limiter, nodes: [B+, CHASSIS], cold: 10 ohm, hot: 0.5 ohm, rated_current: 3 A"));
  EXPECT_DOUBLE_EQ(part.cold.si(), 10.0);
  EXPECT_DOUBLE_EQ(part.hot.si(), 0.5);
  EXPECT_DOUBLE_EQ(part.beta.si(), 3000.0);
  EXPECT_DOUBLE_EQ(part.thermal_time.si(), 30.0);
  EXPECT_THAT(
      faults_of(with_part("kind: ntc_limiter, nodes: [B+, CHASSIS], cold: 1 ohm, hot: 10 ohm,"
                          " rated_current: 3 A")),
      HasSubstr("10 ohm hot is not below 1 ohm cold"));
}

TEST(IronRecords, TakeAStepStart) {
  const auto part = last<StepStart>(read_with(
      "kind: step_start, nodes: [B+, CHASSIS], resistance: 25 ohm, watts: 50 W, delay: 1.5 s"));
  EXPECT_DOUBLE_EQ(part.resistance.si(), 25.0);
  EXPECT_DOUBLE_EQ(part.delay.si(), 1.5);
  EXPECT_DOUBLE_EQ(part.watts.value().si(), 50.0);
  EXPECT_THAT(faults_of(with_part("kind: step_start, nodes: [B+, CHASSIS], resistance: 25 ohm")),
              HasSubstr("key 'delay' is missing"));
}

/// A transformer beside the rig's own, on the same mains nodes, with more readings.
std::string second_iron(const std::string& readings) {
  return with_part(
      "kind: power_transformer, primary: {nodes: [LINE, NEUTRAL], volts: 117 V, ohms: 1.2 ohm}, "
      "secondaries: {low: {nodes: [open, CHASSIS], volts: 6 V, ohms: 0.1 ohm}}, "
      "no_load_current: 200 mA, no_load_watts: 10 W" +
      readings);
}

TEST(IronRecords, TakeASecondNoLoadReading) {
  const auto part = last<PowerTransformer>(
      read_rig_text(second_iron(", second_no_load_volts: 132 V, second_no_load_current: 320 mA, "
                                "no_load_frequency: 50 Hz"),
                    "rig.yaml"));
  EXPECT_DOUBLE_EQ(part.second_no_load_volts.value().si(), 132.0);
  EXPECT_DOUBLE_EQ(part.second_no_load_current.value().si(), 0.32);
  EXPECT_DOUBLE_EQ(part.no_load_frequency.value().si(), 50.0);
}

TEST(IronRecords, RefuseASecondReadingThatShowsNoKnee) {
  EXPECT_THAT(faults_of(second_iron(", second_no_load_volts: 132 V")),
              HasSubstr("'second_no_load_current' is not given beside it"));
  EXPECT_THAT(
      faults_of(second_iron(", second_no_load_volts: 110 V, second_no_load_current: 320 mA")),
      HasSubstr("110 V is not above the 117 V of the first reading"));
  // 200 mA x 132 / 117 = 225.6 mA is what iron without a knee draws (by hand).
  EXPECT_THAT(
      faults_of(second_iron(", second_no_load_volts: 132 V, second_no_load_current: 225 mA")),
      HasSubstr("has not grown faster than the volts, so it shows no knee"));
  EXPECT_EQ(faults_of(second_iron(", second_no_load_volts: 132 V, second_no_load_current: 227 mA")),
            "no fault");
}

TEST(IronRecords, TakeTheStandardOfAFuse) {
  const Rig rig =
      read_with("kind: fuse, nodes: [B+, open], rating: 1 A, standard: iec, speed: slow");
  EXPECT_EQ(last<Fuse>(rig).standard, FuseStandard::iec);
  EXPECT_EQ(last<Fuse>(rig).speed, FuseSpeed::slow);
}

}  // namespace
}  // namespace firstglow::core
