// Discharges on which a rectifier conducts: found by tests/optimism, kept here.
#include "sim/studies/bleed_conducting.hpp"

#include <gtest/gtest.h>

#include <map>
#include <string>
#include <type_traits>
#include <vector>

#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/conducting_starts.hpp"
#include "sim/studies/diode_discharge.hpp"
#include "sim/studies/linear_network.hpp"

namespace firstglow::sim {
namespace {

/// The economy supply with other values: a slow stack, C1 nearly empty, behind a fast half rail.
core::Rig slow_stack() {
  core::Rig rig = core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/larkmoor-120/rig.yaml");
  const std::map<std::string, double> ohms{
      {"R1", 75.65e3}, {"R2", 15.75e3}, {"R3", 107.4}, {"R4", 17.19e3}};
  const std::map<std::string, double> farads{
      {"C1", 244.4e-6}, {"C2", 241.8e-6}, {"C3", 3.766e-6}, {"C4", 13.1e-6}};
  const auto set = [](auto& value, double si) {
    value.marked = std::remove_reference_t<decltype(value.marked)>(si);
    value.measured.reset();
    value.tolerance.minus = value.tolerance.plus = 0.0;
  };
  for (core::Part& part : rig.parts) {
    if (auto* resistor = std::get_if<core::Resistor>(&part.data);
        resistor != nullptr && ohms.contains(part.designator)) {
      set(resistor->value, ohms.at(part.designator));
    } else if (auto* capacitor = std::get_if<core::Capacitor>(&part.data);
               capacitor != nullptr && farads.contains(part.designator)) {
      set(capacitor->value, farads.at(part.designator));
    }
  }
  return rig;
}

ChargeMoment moment(const core::Rig& rig, const std::map<std::string, double>& volts) {
  ChargeMoment found;
  for (const auto& [name, value] : volts) {
    found[static_cast<int>(rig.find(name) - rig.parts.data())] = value;
  }
  return found;
}

std::vector<ChargeMoment> two_moments(const core::Rig& rig) {
  return {moment(rig, {{"C1", 45.3}, {"C2", 1363.8}, {"C3", 857.6}, {"C4", 1052.5}}),
          moment(rig, {{"C1", 26.4}, {"C2", 847.0}, {"C3", 1003.9}, {"C4", 1489.2}})};
}

// From the second moment the half rail lifts C1 from 26 V to more than 50 V, which then leaves it
// slowly. With each island's moments blown up by themselves C2 was never low enough for that, and
// the answer was 0.8 s.
TEST(BleedConducting, HalfRailThatLiftsAStackIsNotMissed) {
  const core::Rig rig = slow_stack();
  const std::vector<ChargeMoment> moments = two_moments(rig);
  const std::vector<BleedLimit> limits = bleed_limits(50.0);
  std::vector<BleedIsland> islands;
  const WorkedCase worked =
      intact_case(BleedCircuit{rig, moments, moments, limits}, BleedStart::box, islands);
  ASSERT_EQ(worked.shown.failure, "");
  EXPECT_TRUE(worked.shown.rectifiers_conduct);
  const LinearNetwork network = linear_network(netlists::build_deck(rig, bleed_situation({}, {})));
  std::vector<double> start(network.capacitors.size() + network.inductors.size(), 0.0);
  std::size_t c1 = 0;
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    start[k] = moments[1].at(network.capacitors[k].part);
    c1 =
        rig.parts[static_cast<std::size_t>(network.capacitors[k].part)].designator == "C1" ? k : c1;
  }
  const auto walk = DiodeDischarge(network).walk(start);
  ASSERT_TRUE(walk);
  const double true_s = walk->last_above(c1, 50.0).value();
  EXPECT_GT(true_s, 2.0);
  for (const CapacitorDischarge& capacitor : worked.shown.capacitors) {
    if (capacitor.part == "C1") {
      EXPECT_GE(capacitor.limits.front().time_s.value(), true_s);
    }
  }
}

// Both moments as they are: each has the largest volts of some capacitor, so neither is blown up.
TEST(BleedConducting, StartsHaveEveryCornerOfIslandsThatADiodeJoins) {
  const core::Rig rig = slow_stack();
  const std::vector<ChargeMoment> moments = two_moments(rig);
  const std::vector<BleedLimit> limits = bleed_limits(50.0);
  const BleedModel model =
      bleed_model(BleedCircuit{rig, moments, moments, limits}, {}, {}, BleedStart::box);
  const auto starts = conducting_starts(model);
  EXPECT_EQ(starts.size(), 16U);  // four capacitors, one island through the diodes
  for (const ChargeMoment& each : moments) {
    for (const auto& [part, volts] : each) {
      EXPECT_LE(model.joined_start.at(part).low_v, volts);
      EXPECT_GE(model.joined_start.at(part).high_v, volts);
    }
  }
}

}  // namespace
}  // namespace firstglow::sim
