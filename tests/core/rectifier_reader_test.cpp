// Rectifier tubes and selenium stacks as records write them.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "core/tube_types.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

/// The small record with a tube beside its diodes, on a filament transformer of its own.
std::string with_tube(const std::string& tube) { return small_record() + tube; }

const char* const kTube =
    "  T9:\n"
    "    kind: power_transformer\n"
    "    primary: {nodes: [PRI, NEUTRAL], volts: 117 V, ohms: 20 ohm, rated_current: 0.2 A}\n"
    "    secondaries:\n"
    "      fil: {nodes: [F1A, F1B], volts: 5 V, ohms: 0.05 ohm, rated_current: 3 A}\n"
    "  V1: {kind: vacuum_rectifier, type: 5U4GB, nodes: {plate_1: HV1, plate_2: HV2, cathode: F1B, "
    "heater_1: F1A, heater_2: F1B}}\n"
    "  R9: {kind: resistor, nodes: [F1B, CHASSIS], value: 10k}\n";

TEST(RectifierReader, FillsATubeFromItsType) {
  const Rig rig = read_rig_text(with_tube(kTube), "rig.yaml");
  const auto& tube = std::get<VacuumRectifier>(rig.find("V1")->data);
  EXPECT_EQ(rig.node_name(tube.plate_2), "HV2");
  EXPECT_TRUE(tube.heater.direct);
  EXPECT_EQ(tube.heater.rated_volts, RmsVolts(5.0));
  EXPECT_EQ(tube.drop_volts, Volts(44.0));
  EXPECT_EQ(tube.piv, Volts(1550.0));
  EXPECT_EQ(tube.largest_capacitor, Farads(40e-6));
  ASSERT_EQ(tube.least_plate_ohms.size(), 2U);
  EXPECT_EQ(rectifier_paths(*rig.find("V1")).size(), 2U);
}

TEST(RectifierReader, RecordOverridesTheType) {
  const Rig rig = read_rig_text(edited(with_tube(kTube), "type: 5U4GB",
                                       "type: 5u4gb, piv: 1400 V, drop_volts: 58 V, "
                                       "least_plate_ohms: 75 ohm, warm_up: 5 s"),
                                "rig.yaml");
  const auto& tube = std::get<VacuumRectifier>(rig.find("V1")->data);
  EXPECT_EQ(tube.piv, Volts(1400.0));
  EXPECT_EQ(tube.drop_volts, Volts(58.0));
  EXPECT_EQ(tube.heater.warm_up, Seconds(5.0));
  ASSERT_EQ(tube.least_plate_ohms.size(), 1U);
  EXPECT_EQ(tube.least_plate_ohms[0].least, Ohms(75.0));
  EXPECT_EQ(tube.steady_peak, Amps(1.0));
}

TEST(RectifierReader, SecondPlateMayBeOpenOrTheSame) {
  for (const char* second : {"open", "HV1"}) {
    const Rig rig = read_rig_text(
        edited(with_tube(kTube), "plate_2: HV2", std::string("plate_2: ") + second), "rig.yaml");
    EXPECT_EQ(rectifier_paths(*rig.find("V1")).size(), std::string(second) == "open" ? 1U : 2U);
  }
}

TEST(RectifierReader, FirstPlateMustBeConnected) {
  EXPECT_THAT(faults_of(edited(with_tube(kTube), "plate_1: HV1", "plate_1: open")),
              HasSubstr("'plate_1' is open"));
}

TEST(RectifierReader, CathodeOfAFilamentIsOneOfItsEnds) {
  EXPECT_THAT(faults_of(edited(with_tube(kTube), "cathode: F1B", "cathode: B+")),
              HasSubstr("neither heater_1 nor heater_2"));
  // an indirectly heated tube with a cathode of its own may have it anywhere
  EXPECT_EQ(faults_of(edited(edited(with_tube(kTube), "cathode: F1B", "cathode: B+"), "type: 5U4GB",
                             "type: 6X4")),
            "no fault");
}

TEST(RectifierReader, UnknownTypeNamesItsNeighbours) {
  EXPECT_THAT(faults_of(edited(with_tube(kTube), "type: 5U4GB", "type: 5U4GX")),
              HasSubstr("5U4GB"));
}

TEST(RectifierReader, WithoutATypeTheModelMustBeWritten) {
  const std::string bare = edited(with_tube(kTube), "type: 5U4GB, ", "");
  for (const char* key :
       {"heater_volts", "heater_current", "heated", "drop_volts", "drop_current"}) {
    EXPECT_THAT(faults_of(bare), HasSubstr(key));
  }
  EXPECT_EQ(faults_of(edited(with_tube(kTube), "type: 5U4GB",
                             "heated: direct, heater_volts: 5 V, heater_current: 3 A, drop_volts: "
                             "50 V, drop_current: 250 mA")),
            "no fault");
}

std::string gas_record(const std::string& more) {
  return edited(with_tube(kTube),
                "V1: {kind: vacuum_rectifier, type: 5U4GB, nodes: {plate_1: HV1, plate_2: HV2,",
                "V1: {kind: gas_rectifier, type: 866A" + more + ", nodes: {plate: HV1,");
}

// [866A-DS]: 10 kV to 60 C, 5 kV to 70 C, 2.5 kV with twice the current to 80 C.
TEST(RectifierReader, MercuryTemperaturePicksTheClass) {
  const auto tube_of = [](const std::string& more) {
    const Rig rig = read_rig_text(gas_record(more), "rig.yaml");
    return std::get<GasRectifier>(rig.find("V1")->data);
  };
  EXPECT_EQ(tube_of("").piv, Volts(5000.0));
  EXPECT_EQ(tube_of(", condensed_mercury: up_to_60C").piv, Volts(10000.0));
  EXPECT_EQ(tube_of(", condensed_mercury: up_to_80C").piv, Volts(2500.0));
  EXPECT_EQ(tube_of(", condensed_mercury: up_to_80C").average_current, Amps(0.5));
  EXPECT_EQ(tube_of("").heater.warm_up, Seconds(30.0));
  EXPECT_EQ(tube_of("").first_use, Seconds(1800.0));
}

TEST(RectifierReader, ReadsASeleniumStack) {
  const Rig rig = read_rig_text(
      edited(small_record(), "kind: silicon_diode, type: 1N4007,",
             "kind: selenium_rectifier, plates: 8, average_current: 100 mA, piv_per_plate: 37 V,"),
      "rig.yaml");
  const Part* part = rig.find("D1");
  ASSERT_NE(part, nullptr);
  const auto& stack = std::get<SeleniumRectifier>(part->data);
  EXPECT_EQ(stack.plates, 8);
  EXPECT_TRUE(stack.drop_assumed);
  EXPECT_EQ(stack.piv_per_plate, Volts(37.0));
}

TEST(TubeTypes, EveryTypeHasASaneModel) {
  for (const VacuumRectifierType& type : vacuum_rectifier_types()) {
    EXPECT_GT(type.drop_v, 5.0) << type.name;
    EXPECT_LT(type.drop_v, 100.0) << type.name;
    EXPECT_GE(type.dc_a, type.capacitor_dc_a) << type.name;
    EXPECT_GT(type.steady_peak_a, type.dc_a) << type.name;
    EXPECT_TRUE(type.cathode_at_heater || !type.direct) << type.name;
    EXPECT_EQ(find_vacuum_rectifier_type(type.name), &type);
    for (std::size_t i = 1; i < type.least_plate_ohms.size(); ++i) {
      EXPECT_GT(type.least_plate_ohms[i].up_to, type.least_plate_ohms[i - 1].up_to) << type.name;
    }
  }
  for (const GasRectifierType& type : gas_rectifier_types()) {
    ASSERT_LT(type.usual_class, type.classes.size()) << type.name;
  }
}

}  // namespace
}  // namespace firstglow::core
