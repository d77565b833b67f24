// A regulator tube behind its series resistor, against the closed form, through ngspice.
#include <gtest/gtest.h>

#include "core/load_tube_types.hpp"
#include "netlists/deck_builder.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::Deck;
using netlists::ElementIndex;

core::VrTube tube_of(test::RigMaker& maker, const char* type, const char* plus, const char* minus) {
  const core::VrType& known = *core::find_vr_type(type);
  return {maker.node(plus), maker.node(minus), known.run, known.strike,
          known.regulation, known.least,       known.most};
}

/// Direct volts, a series resistor, a lit string of tubes and a load.
struct String {
  test::RigMaker maker;
  netlists::BuiltDeck built;

  String(double supply_v, double series_ohm, double load_ohm,
         const std::vector<const char*>& types) {
    maker.mains(1.0, 60.0, 0.1);
    maker.resistor("RS", "SUPPLY", "TOP", series_ohm);
    netlists::Situation situation;
    situation.stage = netlists::Stage::key_up;
    std::string plus = "TOP";
    for (std::size_t i = 0; i < types.size(); ++i) {
      const std::string minus = i + 1 < types.size() ? "J" + std::to_string(i) : "0";
      const std::string name = "VR" + std::to_string(i);
      maker.part(name, tube_of(maker, types[i], plus.c_str(), minus.c_str()));
      situation.lit.insert(name);
      plus = minus;
    }
    maker.load_ohms("LOAD", "TOP", "0", load_ohm, core::DrawnWhen::always);
    maker.load_ohms("FEED", "SUPPLY", "0", 1e6, core::DrawnWhen::always);
    built = netlists::build_deck(maker.rig(), situation);
    built.deck.add(-1, netlists::DcSourceElement{node("SUPPLY"), 0, supply_v});
  }
  netlists::DeckNode node(const std::string& name) {
    return built.node_of.at(static_cast<std::size_t>(maker.node(name))).value();
  }
};

struct Found {
  double top_v, tube_a;
};

Found solve(String& circuit) {
  int part = 0;
  while (circuit.maker.rig().parts[static_cast<std::size_t>(part)].designator != "VR0") {
    ++part;
  }
  const ElementIndex tube = circuit.built.current_of(part).value();
  const auto waves = settled_cycle(circuit.built.deck, {60.0, 100, {circuit.node("TOP")}, {tube}});
  return {waves.node_v[0].back(), waves.current_a[0].back()};
}

// By hand: each tube is E + R i with R its regulation over its window and E its run volts at the
// middle of the window less R times that current. With V the supply, the string E, R in series:
//   i = ((V - E_s) / R_s - E_s / R_load) / (1 + R (1 / R_s + 1 / R_load)), E_s the sum of E.
Found by_hand(double supply_v, double series_ohm, double load_ohm,
              const std::vector<const char*>& types) {
  double volts = 0.0;
  double ohm = 0.0;
  for (const char* type : types) {
    const core::VrType& tube = *core::find_vr_type(type);
    const double slope = tube.regulation.si() / (tube.most.si() - tube.least.si());
    volts += tube.run.si() - slope * 0.5 * (tube.least.si() + tube.most.si());
    ohm += slope;
  }
  const double amps = ((supply_v - volts) / series_ohm - volts / load_ohm) /
                      (1.0 + ohm * (1.0 / series_ohm + 1.0 / load_ohm));
  return {volts + ohm * amps, amps};
}

void expect_closed_form(double supply_v, double series_ohm, double load_ohm,
                        const std::vector<const char*>& types) {
  String circuit(supply_v, series_ohm, load_ohm, types);
  const Found found = solve(circuit);
  const Found wanted = by_hand(supply_v, series_ohm, load_ohm, types);
  // the glow's diode turns by 60 mV over the window: 0.1 V and 1 % of the current
  EXPECT_TRUE(agrees(found.top_v, {wanted.top_v, 0.0, 0.1, "by hand: E + R i"}));
  EXPECT_TRUE(agrees(found.tube_a, {wanted.tube_a, 0.01, 0.0, "by hand: Kirchhoff"}));
}

// Low line and full load: what the load leaves for the tube.
TEST(RegulatorProblems, SingleTubeAtLowLineAndFullLoad) {
  expect_closed_form(270.0, 5e3, 10e3, {"0A2"});
}
// High line and no load: all of it through the tube.
TEST(RegulatorProblems, SingleTubeAtHighLineAndNoLoad) {
  expect_closed_form(330.0, 7e3, 10e6, {"0A2"});
}
TEST(RegulatorProblems, PairOfTubesInSeries) {
  expect_closed_form(400.0, 6.2e3, 10e6, {"0A2", "0B2"});
  expect_closed_form(400.0, 6.2e3, 20e3, {"0A2", "0B2"});
}

}  // namespace
}  // namespace firstglow::published
