// What rectifier tubes ask for: every limit turns 1 % beyond, and an unknown one gives no verdict.
#include "sim/studies/tube_rules.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "core/rig_reader.hpp"
#include "sim/studies/heater_state.hpp"
#include "sim/studies/rampup_tubes.hpp"
#include "sim/studies/stress_limits.hpp"
#include "sim/studies/stress_survey.hpp"
#include "sim/studies/string_sharing.hpp"

namespace firstglow::sim {
namespace {

using core::Verdict;
using ::testing::HasSubstr;

const char* const kHead =
    "firstglow: 1\n"
    "name: Bench\n"
    "chassis: CHASSIS\n"
    "parts:\n"
    "  P1: {kind: mains_inlet, nodes: {line: LINE, neutral: NEUTRAL}, nominal: 120 V, frequency: "
    "60 "
    "Hz}\n"
    "  T2:\n"
    "    kind: power_transformer\n"
    "    primary: {nodes: [LINE, NEUTRAL], volts: 120 V, ohms: 20 ohm, rated_current: 0.2 A}\n"
    "    secondaries:\n"
    "      fil: {nodes: [FA, FB], volts: 5 V, ohms: 0.02 ohm, rated_current: 5 A}\n";

/// A plate transformer of 2 x 300 V rms at 120 V with these ohms.
std::string plate_iron(const std::string& primary_node, const std::string& half_ohm) {
  return "  T1:\n"
         "    kind: power_transformer\n"
         "    primary: {nodes: [" +
         primary_node +
         ", NEUTRAL], volts: 120 V, ohms: 2 ohm, rated_current: 1 A}\n"
         "    secondaries:\n"
         "      plate: {nodes: [HV1, CHASSIS, HV2], volts: 2x300 V, ohms: 2x" +
         half_ohm + "}\n";
}

std::string tube_record(const std::string& farads, const std::string& half_ohm) {
  return kHead + plate_iron("LINE", half_ohm) +
         "  V1: {kind: vacuum_rectifier, type: 5U4GB, nodes: {plate_1: HV1, plate_2: HV2, cathode: "
         "FB, heater_1: FA, heater_2: FB}}\n"
         "  C1: {kind: film_capacitor, nodes: [FB, CHASSIS], value: " +
         farads +
         ", tolerance: 1 %}\n"
         "  R1: {kind: resistor, role: bleeder, nodes: [FB, CHASSIS], value: 20k}\n";
}

std::string gas_record(const std::string& filament_primary, const std::string& variac) {
  std::string head = kHead;
  head.replace(head.find("[LINE, NEUTRAL], volts: 120 V, ohms: 20"), 5, "[" + filament_primary);
  return head + variac + plate_iron(variac.empty() ? "LINE" : "VOUT", "40 ohm") +
         "  V1: {kind: gas_rectifier, type: 866A, nodes: {plate: HV1, cathode: FB, heater_1: FA, "
         "heater_2: FB}}\n"
         "  V2: {kind: gas_rectifier, type: 866A, nodes: {plate: HV2, cathode: FB, heater_1: FA, "
         "heater_2: FB}}\n"
         "  R1: {kind: resistor, role: bleeder, nodes: [FB, CHASSIS], value: 20k}\n";
}

const char* const kVariac =
    "  VT: {kind: variac, nodes: {input: LINE, output: VOUT, common: NEUTRAL}}\n";

core::Rig rig_of(const std::string& text) { return core::read_rig_text(text, "rig.yaml"); }

int index_of(const core::Rig& rig, const std::string& designator) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (rig.parts[i].designator == designator) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

Verdict verdict_at(const core::Rig& rig, StressRule rule, double value) {
  const auto finding = judge(rig, StressKey{index_of(rig, "V1"), 0, rule}, {value, 0.0, false, ""});
  return finding ? finding->verdict : Verdict::no_verdict;
}

struct LimitRow {
  StressRule rule;
  double limit;
};

void expect_turns(const core::Rig& rig, const LimitRow& row) {
  EXPECT_EQ(verdict_at(rig, row.rule, 0.99 * row.limit), Verdict::safe) << row.limit;
  EXPECT_EQ(verdict_at(rig, row.rule, 1.01 * row.limit), Verdict::unsafe) << row.limit;
}

// [5U4GB-DS]: 1550 V, 275 mA, 1 A, 4.6 A; [6X4-DS]: heater within 10 %.
TEST(TubeRules, VacuumLimitsTurnOnePercentBeyond) {
  const core::Rig rig = rig_of(tube_record("32 uF", "60 ohm"));
  for (const LimitRow& row : {LimitRow{StressRule::rectifier_piv, 1550.0},
                              LimitRow{StressRule::rectifier_dc_current, 0.275},
                              LimitRow{StressRule::rectifier_repetitive_peak, 1.0},
                              LimitRow{StressRule::rectifier_surge_current, 4.6},
                              LimitRow{StressRule::rectifier_heater_volts, 5.5}}) {
    expect_turns(rig, row);
  }
}

// [866A-DS], class up to 70 C: 5000 V, 250 mA, 1 A, 20 A; filament within 5 % of 2.5 V.
TEST(TubeRules, GasLimitsTurnOnePercentBeyond) {
  const core::Rig rig = rig_of(gas_record("LINE", kVariac));
  for (const LimitRow& row : {LimitRow{StressRule::rectifier_piv, 5000.0},
                              LimitRow{StressRule::rectifier_average_current, 0.25},
                              LimitRow{StressRule::rectifier_repetitive_peak, 1.0},
                              LimitRow{StressRule::rectifier_surge_current, 20.0},
                              LimitRow{StressRule::rectifier_heater_volts, 2.625}}) {
    expect_turns(rig, row);
  }
}

TEST(TubeRules, UnknownRatingsGiveNoVerdict) {
  std::string record = tube_record("4 uF", "60 ohm");
  record.replace(record.find("type: 5U4GB"), 11, "type: 5Z3");  // no hot-switching figure
  const core::Rig rig = rig_of(record);
  EXPECT_EQ(verdict_at(rig, StressRule::rectifier_surge_current, 0.1), Verdict::no_verdict);
}

const core::Finding* find(const std::vector<core::Finding>& findings, const std::string& rule) {
  const auto found = std::find_if(findings.begin(), findings.end(),
                                  [&](const core::Finding& f) { return f.rule == rule; });
  return found == findings.end() ? nullptr : &*found;
}

Verdict static_verdict(const std::string& record, const std::string& rule) {
  const auto findings = tube_rule_findings(rig_of(record));
  const core::Finding* found = find(findings, rule);
  EXPECT_NE(found, nullptr) << rule;
  return found != nullptr ? found->verdict : Verdict::no_verdict;
}

// [5U4GB-DS]: 40 uF. By hand, with 1 % of tolerance: 39.2 uF reach 39.6 uF, 40 uF reach 40.4 uF.
TEST(TubeRules, LargestInputCapacitorTurnsOnePercentBeyond) {
  const char* rule = "rectifier-input-capacitor";
  EXPECT_EQ(static_verdict(tube_record("39.2 uF", "60 ohm"), rule), Verdict::safe);
  EXPECT_EQ(static_verdict(tube_record("40 uF", "60 ohm"), rule), Verdict::unsafe);
}

// By hand: 2 ohm x (300 V / 120 V)^2 = 12.5 ohm of the primary; 21 ohm asked for at 300 V needs
// 8.5 ohm of half winding.
TEST(TubeRules, LeastPlateOhmsTurnOnePercentBeyond) {
  const char* rule = "rectifier-plate-ohms";
  EXPECT_EQ(static_verdict(tube_record("32 uF", "8.75 ohm"), rule), Verdict::safe);
  EXPECT_EQ(static_verdict(tube_record("32 uF", "8.25 ohm"), rule), Verdict::unsafe);
}

TEST(TubeRules, PlateOhmsCountResistorsInThePlateLead) {
  std::string record = tube_record("32 uF", "8.25 ohm");
  record.replace(record.find("plate_1: HV1"), 12, "plate_1: P1A");
  record += "  RS: {kind: resistor, nodes: [HV1, P1A], value: 10R}\n";
  const core::Rig rig = rig_of(record);
  const auto& tube = std::get<core::VacuumRectifier>(rig.find("V1")->data);
  const auto supply = plate_supply(rig, tube.plate_1);
  ASSERT_TRUE(supply);
  EXPECT_NEAR(supply->ohms.si(), 8.25 + 12.5 + 10.0, 1e-9);
  EXPECT_NEAR(supply->volts.si(), 300.0, 1e-9);
}

TEST(TubeRules, ChokeInputIsNoCapacitorInput) {
  std::string record = tube_record("100 uF", "8 ohm");
  record.replace(record.find("nodes: [FB, CHASSIS], value: 100"), 21, "nodes: [OUT, CHASSIS]");
  record += "  L1: {kind: choke, nodes: [FA, OUT], value: 10 H, dc_resistance: 90 ohm}\n";
  EXPECT_TRUE(tube_rule_findings(rig_of(record)).empty());
}

// The far end of the filament is the cathode too.
TEST(TubeRules, ACapacitorAtTheOtherFilamentEndCounts) {
  std::string record = tube_record("100 uF", "8 ohm");
  record.replace(record.find("nodes: [FB, CHASSIS], value: 100"), 20, "nodes: [FA, CHASSIS]");
  EXPECT_EQ(static_verdict(record, "rectifier-input-capacitor"), Verdict::unsafe);
}

core::SiliconDiode string_of(int n) {
  core::SiliconDiode diode;
  diode.in_series = n;
  diode.piv = core::Volts(1000.0);
  return diode;
}

// By hand: 3 diodes with 470 k +/- 10 % at 1800 V, 50 uA of leakage: (1800 + 2 x 21.15) V over
// (517 + 2 x 423) k is 1.3516 mA; over 517 k that is 698.8 V, 1.1647 times the even 600 V.
TEST(StringSharing, WorstDiodeHasTheHighestEqualiserAndNoLeakage) {
  core::SiliconDiode diode = string_of(3);
  diode.equaliser = core::Ohms(470e3);
  EXPECT_NEAR(worst_share(diode, 1800.0).value(), 1.1647, 1e-4);
  // smaller equalisers swamp the leakage: by hand (1 + 0.1) / (1 + 0.1 - 2/3 x 0.2) less than
  diode.equaliser = core::Ohms(10e3);
  EXPECT_NEAR(worst_share(diode, 1800.0).value(), 3.0 * 1.1 / 2.9, 2e-3);
  // huge ones leave it to the leakage, and no diode gets more than all
  diode.equaliser = core::Ohms(1e9);
  EXPECT_DOUBLE_EQ(worst_share(diode, 1800.0).value(), 3.0);
}

TEST(StringSharing, AvalancheTypesAndSingleDiodesShareEvenly) {
  core::SiliconDiode diode = string_of(3);
  EXPECT_FALSE(worst_share(diode, 1800.0));
  diode.avalanche = true;
  EXPECT_DOUBLE_EQ(worst_share(diode, 1800.0).value(), 1.0);
  EXPECT_DOUBLE_EQ(worst_share(string_of(1), 1800.0).value(), 1.0);
}

TEST(HeaterState, HalfIsColdFourFifthsAreHot) {
  EXPECT_EQ(conduction_at(0.50), Conduction::none);
  EXPECT_EQ(conduction_at(0.51), Conduction::uncertain);
  EXPECT_EQ(conduction_at(0.79), Conduction::uncertain);
  EXPECT_EQ(conduction_at(0.80), Conduction::full);
}

TEST(FilamentFirst, FilamentAheadOfTheVariacIsAccepted) {
  const core::Rig rig = rig_of(gas_record("LINE", kVariac));
  EXPECT_TRUE(filament_first_findings(rig).empty());
  EXPECT_EQ(refused_ladder(rig, netlists::Stage::rectifier), "");
}

TEST(FilamentFirst, FilamentBehindTheVariacIsRefused) {
  const core::Rig rig = rig_of(gas_record("VOUT", kVariac));
  const auto findings = filament_first_findings(rig);
  ASSERT_EQ(findings.size(), 2U);
  EXPECT_EQ(findings[0].verdict, Verdict::unsafe);
  EXPECT_EQ(findings[0].rule, "filament-first");
  EXPECT_THAT(findings[0].note, HasSubstr("ahead of the variac"));
  EXPECT_THAT(refused_ladder(rig, netlists::Stage::rectifier), HasSubstr("REFUSED"));
  // without the tubes in, plate volts harm nothing
  EXPECT_EQ(refused_ladder(rig, netlists::Stage::transformer), "");
}

TEST(FilamentFirst, WithoutAVariacInTheRecordTheDialIsAtTheInlet) {
  EXPECT_EQ(filament_first_findings(rig_of(gas_record("LINE", ""))).size(), 2U);
}

TEST(FilamentFirst, OneTransformerForBothIsRefused) {
  std::string record = gas_record("LINE", kVariac);
  record.replace(record.find("      fil: {nodes: [FA, FB]"), 27, "      fil: {nodes: [XA, XB]");
  record.replace(record.find("ohms: 2x40 ohm}"), 15,
                 "ohms: 2x40 ohm}\n      fil: {nodes: [FA, FB], volts: 5 V, ohms: 0.02 ohm}");
  record += "  RX: {kind: resistor, nodes: [XA, XB], value: 100R}\n";
  const auto findings = filament_first_findings(rig_of(record));
  ASSERT_EQ(findings.size(), 2U);
  EXPECT_THAT(findings[0].note, HasSubstr("one transformer"));
}

TEST(FilamentFirst, AStarvedFilamentRefusesTheStep) {
  const core::Rig rig = rig_of(gas_record("LINE", kVariac));
  HeaterState state;
  state.part = "V1";
  state.share = 0.96;
  EXPECT_EQ(refused_step(rig, {state}), "");
  state.share = 0.94;
  EXPECT_THAT(refused_step(rig, {state}), HasSubstr("REFUSED"));
}

TEST(RectifierGates, SayTheTimesOfEveryTube) {
  const core::Rig rig = rig_of(gas_record("LINE", kVariac));
  EXPECT_TRUE(rectifier_gates(rig, netlists::Stage::transformer).empty());
  const auto gates = rectifier_gates(rig, netlists::Stage::rectifier);
  ASSERT_EQ(gates.size(), 2U);
  EXPECT_THAT(gates[0], HasSubstr("NO PLATE VOLTS"));
  EXPECT_THAT(gates[0], HasSubstr("30 s, at every start"));
  EXPECT_THAT(gates[0], HasSubstr("30 min"));
}

}  // namespace
}  // namespace firstglow::sim
