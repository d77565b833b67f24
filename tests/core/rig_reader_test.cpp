#include "core/rig_reader.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

Rig small_with(const std::string& from, const std::string& to) {
  return read_rig_text(edited(small_record(), from, to), "rig.yaml");
}

template <class P>
const P& part_of(const Rig& rig, std::string_view designator) {
  const Part* part = rig.find(designator);
  EXPECT_NE(part, nullptr) << designator;
  return std::get<P>(part->data);
}

TEST(RigReader, ReadsTheDemo) {
  const Rig rig =
      read_rig_file(std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/wrenfield-75/rig.yaml");
  EXPECT_EQ(rig.name, "Wrenfield 75");
  EXPECT_EQ(rig.parts.size(), 23U);
  EXPECT_EQ(rig.nodes.at(kChassis).name, "CHASSIS");
  EXPECT_EQ(rig.mains().nominal, RmsVolts(120.0));
  const auto& can = part_of<Capacitor>(rig, "C1");
  EXPECT_EQ(can.value.marked->si(), 40e-6);
  EXPECT_EQ(can.value.tolerance.plus, 0.5);
  EXPECT_EQ(rig.node_name(can.minus), "MID");
  EXPECT_EQ(part_of<SiliconDiode>(rig, "D1").in_series, 3);
}

TEST(RigReader, ReadsMainsFuseAndTransformer) {
  const Rig rig = read_rig_text(small_record(), "rig.yaml");
  EXPECT_DOUBLE_EQ(rig.mains().low.si(), 108.0);
  EXPECT_DOUBLE_EQ(rig.mains().high.si(), 132.0);
  EXPECT_DOUBLE_EQ(rig.mains().source_resistance.si(), 0.1);
  EXPECT_EQ(part_of<Fuse>(rig, "F1").speed, FuseSpeed::slow);
  const auto& iron = part_of<PowerTransformer>(rig, "T1");
  ASSERT_EQ(iron.secondaries.size(), 1U);
  EXPECT_EQ(iron.secondaries[0].name, "plate");
  EXPECT_EQ(iron.secondaries[0].nodes.size(), 3U);
  EXPECT_EQ(iron.secondaries[0].section_volts, (std::vector{RmsVolts(300), RmsVolts(300)}));
  EXPECT_EQ(iron.secondaries[0].section_ohms, (std::vector{Ohms(90), Ohms(95)}));
}

// By hand: 0.8 A x 117 V = 93.6 VA; 10 % of it over 117 V is 80 mA, 3 % is 2.808 W.
TEST(RigReader, FillsNoLoadFiguresFromTheRatedCurrent) {
  const auto rig = read_rig_text(small_record(), "rig.yaml");
  const auto& iron = part_of<PowerTransformer>(rig, "T1");
  EXPECT_TRUE(iron.no_load_assumed);
  EXPECT_NEAR(iron.no_load_current->si(), 0.08, 1e-12);
  EXPECT_NEAR(iron.no_load_watts->si(), 2.808, 1e-9);
}

TEST(RigReader, KeepsMeasuredNoLoadFigures) {
  const Rig rig = small_with(
      "    secondaries:", "    no_load_current: 90 mA\n    no_load_watts: 4 W\n    secondaries:");
  const auto& iron = part_of<PowerTransformer>(rig, "T1");
  EXPECT_FALSE(iron.no_load_assumed);
  EXPECT_EQ(iron.no_load_watts->si(), 4.0);
}

// By hand: 3 % / 10 % x 117 V x 90 mA = 3.159 W.
TEST(RigReader, FillsOneNoLoadFigureFromTheOther) {
  const Rig rig = small_with("    secondaries:", "    no_load_current: 90 mA\n    secondaries:");
  const auto& iron = part_of<PowerTransformer>(rig, "T1");
  EXPECT_TRUE(iron.no_load_assumed);
  EXPECT_NEAR(iron.no_load_watts->si(), 3.159, 1e-9);
}

TEST(RigReader, FillsRatingsFromThePartLibrary) {
  const Rig rig = small_with("type: 1N4007, nodes: {anode: HV1",
                             "type: 1n4007, piv: 900 V, nodes: {anode: HV1");
  const auto& diode = part_of<SiliconDiode>(rig, "D1");
  EXPECT_EQ(diode.piv->si(), 900.0);  // the record's own figure stands
  EXPECT_EQ(diode.surge_current->si(), 30.0);
  EXPECT_EQ(diode.emission, 1.45);
}

TEST(RigReader, LeavesRatingsOfAnUntypedDiodeUnknown) {
  const Rig rig = small_with("type: 1N4007, nodes: {anode: HV1", "nodes: {anode: HV1");
  const auto& diode = part_of<SiliconDiode>(rig, "D1");
  EXPECT_FALSE(diode.piv);
  EXPECT_FALSE(diode.surge_current);
  EXPECT_GT(diode.saturation_a, 0.0);
}

TEST(RigReader, SaysWhereTheToleranceComesFrom) {
  const Rig assumed = read_rig_text(small_record(), "rig.yaml");
  const auto& can = part_of<Capacitor>(assumed, "C1");
  EXPECT_EQ(can.value.origin, ToleranceOrigin::assumed);
  EXPECT_EQ(can.value.tolerance.minus, 0.2);
  EXPECT_EQ(can.value.tolerance.plus, 0.5);
  const Rig stated = small_with("value: 47u", "value: 47u, tolerance: -10/+100 %");
  EXPECT_EQ(part_of<Capacitor>(stated, "C1").value.origin, ToleranceOrigin::stated);
  EXPECT_EQ(part_of<Capacitor>(stated, "C1").value.tolerance.plus, 1.0);
  const Rig measured = small_with("value: 47u", "measured: 51 uF");
  const auto& metered = part_of<Capacitor>(measured, "C1").value;
  EXPECT_EQ(metered.origin, ToleranceOrigin::measured);
  EXPECT_FALSE(metered.marked);
  EXPECT_EQ(metered.tolerance.plus, 0.02);
}

// By hand: 0.15 / (2 pi x 120 Hz x 47 uF) = 4.233 ohm.
TEST(RigReader, FillsEsrFromTheLossAngle) {
  const Rig rig = read_rig_text(small_record(), "rig.yaml");
  const auto& can = part_of<Capacitor>(rig, "C1");
  EXPECT_TRUE(can.esr_assumed);
  EXPECT_NEAR(can.esr.si(), 4.233, 0.001);
  EXPECT_FALSE(can.surge_volts);
  const Rig stated = small_with("value: 47u", "value: 47u, esr: 2 ohm");
  EXPECT_FALSE(part_of<Capacitor>(stated, "C1").esr_assumed);
}

// By hand: 50 mV / 1 A.
TEST(RigReader, FillsFuseResistance) {
  const Rig rig = read_rig_text(small_record(), "rig.yaml");
  EXPECT_DOUBLE_EQ(part_of<Fuse>(rig, "F1").cold_resistance.si(), 0.05);
}

TEST(RigReader, TakesOpenEnds) {
  const Rig rig = small_with("chassis: CHASSIS\nparts:",
                             "chassis: CHASSIS\nparts:\n  R9: {kind: resistor, nodes: [B+, open], "
                             "value: 1k}");
  EXPECT_EQ(part_of<Resistor>(rig, "R9").b, kOpenNode);
}

TEST(RigReader, TakesEitherFormForFilmCapacitors) {
  for (const char* nodes : {"[B+, CHASSIS]", "{plus: B+, minus: CHASSIS}"}) {
    const Rig rig = small_with("chassis: CHASSIS\nparts:",
                               std::string("chassis: CHASSIS\nparts:\n  C9: {kind: film_capacitor, "
                                           "value: 100n, nodes: ") +
                                   nodes + "}");
    EXPECT_EQ(rig.node_name(part_of<Capacitor>(rig, "C9").plus), "B+");
  }
}

TEST(RigReader, TakesLampVariacAndHeater) {
  const Rig rig = small_with(
      "  F1: {kind: fuse, nodes: [LINE, PRI]",
      "  VT: {kind: variac, nodes: {input: LINE, output: V1, common: NEUTRAL}, max_output: 140 V}\n"
      "  LA: {kind: series_lamp, nodes: [V1, L2], rated_volts: 120 V, rated_watts: 100 W}\n"
      "  H1: {kind: heater, nodes: [V1, NEUTRAL], rated_volts: 6.3 V, hot: 7 ohm, cold: 1 ohm}\n"
      "  F1: {kind: fuse, nodes: [L2, PRI]");
  EXPECT_EQ(part_of<Variac>(rig, "VT").max_output->si(), 140.0);
  EXPECT_EQ(part_of<SeriesLamp>(rig, "LA").rated_watts.si(), 100.0);
  EXPECT_EQ(part_of<Heater>(rig, "H1").cold.si(), 1.0);
}

TEST(RigReader, KeepsNotesAsTheyAre) {
  const Rig rig = small_with("watts: 10 W}", "watts: 10 W, note: '*# shell touch x \u03A9 `id`'}");
  EXPECT_EQ(rig.find("R1")->note, "*# shell touch x \u03A9 `id`");
}

TEST(RigReader, RefusesAMissingFile) {
  try {
    (void)read_rig_file("no/such/rig.yaml");
    FAIL();
  } catch (const InputError& error) {
    EXPECT_THAT(error.what(), HasSubstr("no/such/rig.yaml: the file cannot be read"));
  }
  EXPECT_THROW((void)read_rig_file("/"), InputError);
}

TEST(RigReader, ReportsAllFaultsInOrder) {
  std::string text = edited(small_record(), "value: 47k", "value: 47");
  text = edited(text, "frequency: 60 Hz", "frequency: 60 V");
  text = edited(text, "value: 50 mA", "valu: 50 mA");
  try {
    (void)read_rig_text(text, "rig.yaml");
    FAIL();
  } catch (const InputError& error) {
    ASSERT_EQ(error.faults().size(), 4U) << error.what();
    EXPECT_EQ(error.faults()[0].where.line, 6);
    EXPECT_EQ(error.faults()[1].where.line, 16);
    EXPECT_EQ(error.faults()[2].where.line, 17);
    EXPECT_EQ(error.faults()[3].where.line, 17);
  }
}

TEST(RigReader, ShowsAtMostAHundredFaults) {
  std::string parts = "chassis: CHASSIS\nparts:\n";
  for (int i = 0; i < 300; ++i) {
    parts += "  X" + std::to_string(i) + ": {kind: nonsense}\n";
  }
  EXPECT_THAT(faults_of(edited(small_record(), "chassis: CHASSIS\nparts:\n", parts)),
              HasSubstr("200 more faults are not shown"));
}

/// One random change of the text; the kinds of change are chosen for what upsets YAML readers.
void mutate(std::string& text, std::mt19937& random) {
  static const std::vector<std::string> kPieces{"{",
                                                "}",
                                                "[",
                                                "]",
                                                ",",
                                                ":",
                                                "- ",
                                                "? ",
                                                "&a ",
                                                "*a",
                                                "!t ",
                                                "|\n",
                                                ">-\n",
                                                "'",
                                                "\"",
                                                "\n",
                                                "\t",
                                                "#",
                                                "%",
                                                "---\n",
                                                "...\n",
                                                "\"\\x00\"",
                                                "\"\\ud800\"",
                                                "\xFF",
                                                "\xE2\x80\xA8",
                                                "1e999",
                                                ".inf",
                                                "-",
                                                "0",
                                                "\u00B5",
                                                std::string(1, '\0'),
                                                "<<: ",
                                                "open",
                                                "!2",
                                                "~"};
  const auto below = [&random](std::size_t limit) {
    return random() % std::max<std::size_t>(limit, 1);
  };
  const std::size_t at = below(text.size());
  switch (below(5)) {
    case 0:
      text.erase(at, below(20));
      break;
    case 1:
      text.insert(at, text.substr(below(text.size()), below(60)));
      break;
    case 2:
      text.resize(text.size() - below(text.size() / 8));
      break;
    case 3:
      text.insert(at, std::string(1, static_cast<char>(below(256))));
      break;
    default:
      text.insert(at, kPieces[below(kPieces.size())]);
  }
}

// Deterministic: the same 2000 texts on every run.
TEST(RigReader, NeverThrowsAnythingButInputError) {
  const std::string demo = demo_record();
  std::mt19937 random(20250125);
  int refused = 0;
  for (int i = 0; i < 2000; ++i) {
    std::string text = demo;
    for (std::size_t changes = 1 + random() % 5; changes > 0; --changes) {
      mutate(text, random);
    }
    try {
      (void)read_rig_text(text, "rig.yaml");
    } catch (const InputError& error) {
      ++refused;
      EXPECT_FALSE(error.faults().empty());
    } catch (const std::exception& error) {
      FAIL() << "text " << i << ": " << error.what();
    }
  }
  EXPECT_GT(refused, 1000);
}

}  // namespace
}  // namespace firstglow::core
