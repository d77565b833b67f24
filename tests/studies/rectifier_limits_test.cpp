// Every limit of every rectifier of the part library turns its verdict 1 % beyond, and a limit the
// library does not know gives none. The figures are written out again from docs/references.md.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/rig_reader.hpp"
#include "core/tube_types.hpp"
#include "sim/studies/stress_limits.hpp"
#include "sim/studies/stress_survey.hpp"
#include "sim/studies/tube_rules.hpp"

namespace firstglow::sim {
namespace {

using core::Verdict;

constexpr std::nullopt_t kUnknown = std::nullopt;
constexpr double kPrimaryOhm = 2.0;
constexpr double kLineVolts = 120.0;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.6f", value);
  return text;
}

/// A plate transformer of 2 x `plate_vrms`, a filament winding FA FB, one part V1, what follows it.
std::string record_of(const std::string& part, double plate_vrms, double half_ohm,
                      const std::string& filter) {
  return "firstglow: 1\nname: Bench\nchassis: CHASSIS\nparts:\n"
         "  P1: {kind: mains_inlet, nodes: {line: LINE, neutral: NEUTRAL}, nominal: 120 V, "
         "frequency: 60 Hz}\n"
         "  T1:\n"
         "    kind: power_transformer\n"
         "    primary: {nodes: [LINE, NEUTRAL], volts: 120 V, ohms: 2 ohm, rated_current: 1 A}\n"
         "    secondaries:\n"
         "      plate: {nodes: [HV1, CHASSIS, HV2], volts: 2x" +
         number(plate_vrms) + " V, ohms: 2x" + number(half_ohm) +
         " ohm}\n"
         "      fil: {nodes: [FA, FB], volts: 5 V, ohms: 0.02 ohm}\n"
         "  V1: {" +
         part + "}\n" + filter +
         "  R1: {kind: resistor, role: bleeder, nodes: [FB, CHASSIS], value: 20k}\n";
}

std::string capacitor_input(double microfarads) {
  return "  C1: {kind: film_capacitor, nodes: [FB, CHASSIS], value: " + number(microfarads) +
         " uF, tolerance: 1 %}\n";
}
/// Ends that a part with one plate, or without a filament, leaves alone.
const std::string kOtherPlate = "  R2: {kind: resistor, nodes: [HV2, CHASSIS], value: 1M}\n";
const std::string kNoFilament = "  R3: {kind: resistor, nodes: [FA, FB], value: 100R}\n";

const std::string kChokeInput =
    "  L1: {kind: choke, nodes: [FB, OUT], value: 10 H, dc_resistance: 90 ohm}\n"
    "  C1: {kind: film_capacitor, nodes: [OUT, CHASSIS], value: 4 uF}\n";

std::string vacuum_tube(const std::string& type) {
  return "kind: vacuum_rectifier, type: " + type +
         ", nodes: {plate_1: HV1, plate_2: HV2, cathode: FB, heater_1: FA, heater_2: FB}";
}

Verdict verdict_at(const core::Rig& rig, StressRule rule, double value) {
  const auto v1 = std::find_if(rig.parts.begin(), rig.parts.end(),
                               [](const core::Part& part) { return part.designator == "V1"; });
  const auto finding = judge(rig, StressKey{static_cast<int>(v1 - rig.parts.begin()), 0, rule},
                             {value, 0.0, false, ""});
  return finding ? finding->verdict : Verdict::no_verdict;
}

/// Turns at `limit`; with none there is no verdict however small the value.
void expect_turns(const core::Rig& rig, StressRule rule, std::optional<double> limit) {
  SCOPED_TRACE(static_cast<int>(rule));
  if (!limit) {
    EXPECT_EQ(verdict_at(rig, rule, 1e-6), Verdict::no_verdict);
    return;
  }
  EXPECT_EQ(verdict_at(rig, rule, 0.99 * *limit), Verdict::safe) << *limit;
  EXPECT_EQ(verdict_at(rig, rule, 1.01 * *limit), Verdict::unsafe) << *limit;
}

core::Rig rig_of(const std::string& text) { return core::read_rig_text(text, "rig.yaml"); }

struct VacuumRow {
  const char* type;
  double heater_v, piv_v, choke_a, capacitor_a, peak_a;
  std::optional<double> hot_a, heater_cathode_v, largest_uf;
  std::vector<std::pair<double, double>> plate_ohms;  ///< up to so many volts, so many ohms
};

// Sources: the key of each type in docs/references.md, [5U4GB-DS] to [EZ81-DS].
const std::vector<VacuumRow>& vacuum_rows() {
  static const std::vector<std::pair<double, double>> kGz34{
      {300, 50}, {400, 75}, {450, 100}, {500, 125}, {550, 175}};
  static const std::vector<std::pair<double, double>> kEz81{{250, 150}, {300, 200}, {350, 240}};
  static const std::vector<VacuumRow> kRows{
      {"5U4GB", 5.0, 1550, 0.275, 0.275, 1.0, 4.6, kUnknown, 40.0, {{300, 21}, {450, 67}}},
      {"5Z3", 5.0, 1550, 0.225, 0.225, 0.675, kUnknown, kUnknown, 40.0, {{450, 75}}},
      {"5R4GY", 5.0, 2800, 0.250, 0.150, 0.650, kUnknown, kUnknown, 4.0, {{900, 575}}},
      {"5R4GYB", 5.0, 3100, 0.250, 0.150, 0.650, kUnknown, kUnknown, 4.0, {{900, 575}}},
      {"5Y3GT", 5.0, 1400, 0.125, 0.125, 0.400, 2.5, kUnknown, 20.0, {{350, 50}}},
      {"80", 5.0, 1400, 0.125, 0.125, 0.400, kUnknown, kUnknown, 20.0, {{350, 50}}},
      {"5V4G", 5.0, 1400, 0.175, 0.175, 0.525, kUnknown, kUnknown, kUnknown, {{375, 100}}},
      {"5AR4", 5.0, 1500, 0.250, 0.250, 0.750, kUnknown, kUnknown, 60.0, kGz34},
      {"GZ34", 5.0, 1500, 0.250, 0.250, 0.750, kUnknown, kUnknown, 60.0, kGz34},
      {"6X4", 6.3, 1250, 0.070, 0.070, 0.245, 1.0, 450.0, 10.0, {}},
      {"6X5GT", 6.3, 1250, 0.070, 0.070, 0.210, kUnknown, 450.0, kUnknown, {}},
      {"6CA4", 6.3, 1000, 0.150, 0.150, 0.450, kUnknown, 500.0, 50.0, kEz81},
      {"EZ81", 6.3, 1000, 0.150, 0.150, 0.450, kUnknown, 500.0, 50.0, kEz81},
  };
  return kRows;
}

TEST(RectifierLimits, EveryRatingOfEveryVacuumTypeTurns) {
  for (const VacuumRow& row : vacuum_rows()) {
    SCOPED_TRACE(row.type);
    const core::Rig direct =
        rig_of(record_of(vacuum_tube(row.type), 300, 60, capacitor_input(1.0)));
    const core::Rig choke = rig_of(record_of(vacuum_tube(row.type), 300, 60, kChokeInput));
    expect_turns(direct, StressRule::rectifier_piv, row.piv_v);
    expect_turns(direct, StressRule::rectifier_dc_current, row.capacitor_a);
    expect_turns(choke, StressRule::rectifier_dc_current, row.choke_a);
    expect_turns(direct, StressRule::rectifier_repetitive_peak, row.peak_a);
    expect_turns(direct, StressRule::rectifier_surge_current, row.hot_a);
    expect_turns(direct, StressRule::heater_cathode_volts, row.heater_cathode_v);
    expect_turns(direct, StressRule::rectifier_heater_volts, 1.1 * row.heater_v);
  }
}

Verdict of_rule(const std::string& record, const std::string& rule) {
  for (const core::Finding& finding : tube_rule_findings(rig_of(record))) {
    if (finding.rule == rule) {
      return finding.verdict;
    }
  }
  ADD_FAILURE() << "no finding " << rule;
  return Verdict::no_verdict;
}

// 1 % of tolerance on top of the value: 0.98 of the limit reaches 0.9898 of it, the limit 1.01.
TEST(RectifierLimits, LargestCapacitorOfEveryVacuumTypeTurns) {
  for (const VacuumRow& row : vacuum_rows()) {
    SCOPED_TRACE(row.type);
    const auto verdict = [&](double microfarads) {
      return of_rule(record_of(vacuum_tube(row.type), 250, 300, capacitor_input(microfarads)),
                     "rectifier-input-capacitor");
    };
    const double limit = row.largest_uf.value_or(1.0);
    EXPECT_EQ(verdict(0.98 * limit), row.largest_uf ? Verdict::safe : Verdict::no_verdict);
    EXPECT_EQ(verdict(limit), row.largest_uf ? Verdict::unsafe : Verdict::no_verdict);
  }
}

// What the primary adds, 2 ohm x (V / 120 V)^2, is taken off the half winding.
TEST(RectifierLimits, PlateOhmsOfEveryVacuumTypeTurnAtEveryRowOfItsTable) {
  for (const VacuumRow& row : vacuum_rows()) {
    SCOPED_TRACE(row.type);
    const auto verdict = [&](double plate_v, double supply_ohm) {
      const double ratio = plate_v / kLineVolts;
      return of_rule(record_of(vacuum_tube(row.type), plate_v,
                               supply_ohm - kPrimaryOhm * ratio * ratio, capacitor_input(1.0)),
                     "rectifier-plate-ohms");
    };
    for (const auto& [plate_v, ohm] : row.plate_ohms) {
      EXPECT_EQ(verdict(plate_v, 1.01 * ohm), Verdict::safe) << plate_v;
      EXPECT_EQ(verdict(plate_v, 0.99 * ohm), Verdict::unsafe) << plate_v;
    }
    const double beyond_v = row.plate_ohms.empty() ? 300.0 : 1.01 * row.plate_ohms.back().first;
    EXPECT_EQ(verdict(beyond_v, 1e3), Verdict::no_verdict);
  }
}

struct GasRow {
  const char* type;
  const char* mercury;  ///< empty: as the library takes it
  double piv_v, average_a, peak_a, filament_v;
  std::optional<double> surge_a;
};

// Sources: [816-DS], [866A-DS], [872A-DS], [3B28-DS]; filament within 5 % [866A-DS].
TEST(RectifierLimits, EveryRatingOfEveryGasTypeTurnsInEveryClass) {
  for (const GasRow& row : {GasRow{"816", "up_to_60C", 7500, 0.125, 0.5, 2.5, kUnknown},
                            GasRow{"816", "up_to_70C", 5000, 0.125, 0.5, 2.5, kUnknown},
                            GasRow{"866A", "up_to_60C", 10000, 0.25, 1.0, 2.5, 20.0},
                            GasRow{"866A", "up_to_70C", 5000, 0.25, 1.0, 2.5, 20.0},
                            GasRow{"866A", "up_to_80C", 2500, 0.5, 2.0, 2.5, 20.0},
                            GasRow{"872A", "up_to_60C", 10000, 1.25, 5.0, 5.0, kUnknown},
                            GasRow{"872A", "up_to_70C", 5000, 1.25, 5.0, 5.0, kUnknown},
                            GasRow{"3B28", "", 10000, 0.25, 1.0, 2.5, kUnknown}}) {
    SCOPED_TRACE(std::string(row.type) + " " + row.mercury);
    const std::string mercury =
        *row.mercury == '\0' ? "" : std::string(", condensed_mercury: ") + row.mercury;
    const core::Rig rig =
        rig_of(record_of("kind: gas_rectifier, type: " + std::string(row.type) + mercury +
                             ", nodes: {plate: HV1, cathode: FB, heater_1: FA, heater_2: FB}",
                         300, 60, kChokeInput + kOtherPlate));
    expect_turns(rig, StressRule::rectifier_piv, row.piv_v);
    expect_turns(rig, StressRule::rectifier_average_current, row.average_a);
    expect_turns(rig, StressRule::rectifier_repetitive_peak, row.peak_a);
    expect_turns(rig, StressRule::rectifier_surge_current, row.surge_a);
    expect_turns(rig, StressRule::rectifier_heater_volts, 1.05 * row.filament_v);
  }
}

// Ratings of the record: selenium has no types.
TEST(RectifierLimits, SeleniumRatingsTurn) {
  const std::string stack =
      "kind: selenium_rectifier, nodes: {anode: HV1, cathode: FB}, plates: 4, average_current: "
      "65 mA, piv_per_plate: 37 V";
  const std::string filter = capacitor_input(8.0) + kOtherPlate + kNoFilament;
  const core::Rig rig = rig_of(record_of(stack, 60, 60, filter));
  expect_turns(rig, StressRule::rectifier_piv, 37.0);
  expect_turns(rig, StressRule::rectifier_average_current, 0.065);
  expect_turns(rig, StressRule::rectifier_surge_current, kUnknown);
  expect_turns(rig_of(record_of(stack + ", surge_current: 1.5 A", 60, 60, filter)),
               StressRule::rectifier_surge_current, 1.5);
}

// A type that joins the library has to join the tables above.
TEST(RectifierLimits, TablesHoldEveryTypeOfTheLibrary) {
  for (const core::VacuumRectifierType& type : core::vacuum_rectifier_types()) {
    EXPECT_TRUE(std::any_of(vacuum_rows().begin(), vacuum_rows().end(), [&](const VacuumRow& row) {
      return type.name == row.type;
    })) << type.name;
  }
  EXPECT_EQ(core::gas_rectifier_types().size(), 4U);
}

}  // namespace
}  // namespace firstglow::sim
