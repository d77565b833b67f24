// No rig inside its tolerances may be slower than the slowest corner says.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "core/limits.hpp"
#include "core/rig_reader.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/bleed_islands.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::sim {
namespace {

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

int part(const core::Rig& rig, const std::string& name) {
  return static_cast<int>(rig.find(name) - rig.parts.data());
}

/// Moments of the kind a cold switch-on leaves: a stack shared evenly, and unevenly both ways.
std::vector<ChargeMoment> some_moments() {
  std::vector<ChargeMoment> moments;
  for (const double upper : {370.0, 470.0, 590.0}) {
    moments.push_back({{part(demo(), "C1"), upper},
                       {part(demo(), "C2"), 955.0 - upper},
                       {part(demo(), "C3"), 90.0},
                       {part(demo(), "C4"), 78.0},
                       {part(demo(), "C5"), 950.0}});
  }
  return moments;
}

/// Slowest times of one case, by capacitor.
std::map<int, CapacitorCourse> predicted(const BleedCircuit& circuit,
                                         const std::set<std::string>& lifted) {
  std::map<int, CapacitorCourse> all;
  for (const BleedIsland& island : bleed_islands(circuit, lifted, BleedStart::box)) {
    all.insert(island.capacitors.begin(), island.capacitors.end());
  }
  return all;
}

TEST(BleedCorners, NoRigInsideItsTolerancesIsSlower) {
  const auto moments = some_moments();
  const auto limits = bleed_limits(50.0);
  const BleedCircuit circuit{demo(), moments, moments, limits};
  const std::vector<std::string> parts = toleranced_parts(demo(), netlists::Stage::tubes_out);
  std::mt19937 random(11);
  std::uniform_real_distribution<double> share(-1.0, 1.0);
  int compared = 0;
  for (const std::set<std::string>& lifted :
       {std::set<std::string>{}, std::set<std::string>{"R3"}, std::set<std::string>{"R1"}}) {
    const auto slowest = predicted(circuit, lifted);
    for (int i = 0; i < 100; ++i) {
      netlists::Situation situation;
      situation.stage = netlists::Stage::tubes_out;
      situation.mains_on = false;
      situation.lifted = lifted;
      for (const std::string& name : parts) {
        situation.corner[name] = share(random);
      }
      const LinearNetwork network = linear_network(netlists::build_deck(demo(), situation));
      std::vector<double> start(network.capacitors.size() + network.inductors.size(), 0.0);
      const ChargeMoment& moment = moments[static_cast<std::size_t>(i) % moments.size()];
      const double scale = 0.5 + 0.5 * std::abs(share(random));
      for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
        start[k] = scale * moment.at(network.capacitors[k].part);
      }
      const auto course = LinearDischarge(network).from(start);
      for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
        for (std::size_t l = 0; l < limits.size(); ++l) {
          const auto bound = slowest.at(network.capacitors[k].part).time_s[l];
          const auto time_s =
              course.last_above(k, limits[l].volts_for(network.capacitors[k].value));
          EXPECT_TRUE(!bound || (time_s && *time_s <= *bound + 1e-6))
              << demo().parts[static_cast<std::size_t>(network.capacitors[k].part)].designator
              << " " << limits[l].words << " " << time_s.value_or(-1.0) << " s, bound "
              << bound.value_or(-1.0) << " s";
          ++compared;
        }
      }
    }
  }
  EXPECT_EQ(compared, 3 * 100 * 5 * static_cast<int>(limits.size()));
}

// By hand: R C ln with both at their high ends, and the 1 ohm of the ESR.
TEST(BleedCorners, OneCapacitorTakesTheHighEndOfBoth) {
  test::RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).capacitor("C1", "A", "0", 10e-6);
  maker.resistor("R1", "A", "0", 100e3, core::ResistorRole::bleeder, 0.1);
  for (core::Part& p : maker.rig().parts) {
    if (auto* c = std::get_if<core::Capacitor>(&p.data)) {
      c->value.tolerance = {0.2, 0.5};
    }
  }
  const int c1 = part(maker.rig(), "C1");
  const std::vector<ChargeMoment> moments{{{c1, 500.0}}};
  const auto limits = bleed_limits(50.0);
  const auto found = predicted({maker.rig(), moments, moments, limits}, {});
  EXPECT_NEAR(found.at(c1).time_s.front().value(), 15e-6 * 110001.0 * std::log(10.0), 1e-6);
  EXPECT_NEAR(found.at(c1).capacitance_f, 15e-6, 1e-12);
}

// A stack without equalisers may stand on one capacitor alone, and keeps half of that for ever.
TEST(BleedCorners, StackWithoutEqualisersMayKeepItsDifference) {
  test::RigMaker maker;
  maker.mains(120.0, 60.0, 0.3).capacitor("C1", "A", "M", 10e-6).capacitor("C2", "M", "0", 10e-6);
  maker.resistor("R1", "A", "0", 100e3, core::ResistorRole::bleeder);
  const int c1 = part(maker.rig(), "C1");
  const std::vector<ChargeMoment> moments{{{c1, 300.0}, {part(maker.rig(), "C2"), 300.0}}};
  const auto limits = bleed_limits(50.0);
  const auto found = predicted({maker.rig(), moments, moments, limits}, {});
  EXPECT_FALSE(found.at(c1).time_s.front());
}

// Moments with hardly any charge say nothing about how a stack shares.
TEST(BleedBox, LeavesOutMomentsWithoutCharge) {
  const int c1 = part(demo(), "C1");
  const int c2 = part(demo(), "C2");
  const std::vector<ChargeMoment> moments{
      {{c1, 400.0}, {c2, 500.0}}, {{c1, 250.0}, {c2, 200.0}}, {{c1, 0.0}, {c2, 1e-9}}};
  const StartBox box = start_box(demo(), moments, {c1, c2}, {});
  EXPECT_DOUBLE_EQ(box.at(c1).low_v, 400.0);
  EXPECT_DOUBLE_EQ(box.at(c1).high_v, 400.0);
  EXPECT_DOUBLE_EQ(box.at(c2).low_v, 320.0);  // 200 blown up by 400 / 250
  EXPECT_DOUBLE_EQ(box.at(c2).high_v, 500.0);
}

// Just above the volts the charge is hazardous, just below it is not.
TEST(BleedLimits, HazardVoltsAreTheEdgeOfTheTier) {
  for (const double farad : {10e-9, 1e-6, 2e-6, 10e-6, 13e-6, 40e-6, 300e-6, 1e-3, 0.05}) {
    const double edge_v = hazard_volts(farad);
    const auto hazardous = [&](double volts) {
      return core::is_hazardous_charge(
          core::Volts(volts), core::stored_energy(core::Farads(farad), core::Volts(volts)));
    };
    EXPECT_TRUE(hazardous(edge_v * 1.001)) << farad;
    EXPECT_FALSE(hazardous(edge_v * 0.999)) << farad;
  }
}

}  // namespace
}  // namespace firstglow::sim
