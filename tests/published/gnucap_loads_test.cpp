// What draws: tubes with grids, driven tubes and gas regulators as the deck builder makes them,
// against circuits written by hand for gnucap [GNUCAP] from docs/methods/power_tubes.md and
// regulators.md. The constants of a tube's law are held to its data sheet in load_tubes_test.cpp.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>
#include <string>

#include "core/load_tube_types.hpp"
#include "tests/published/parts_on_a_bench.hpp"

namespace firstglow::published {
namespace {

class GnucapLoads : public WithGnucap {};

using netlists::Situation;
using netlists::Stage;

const double kRoot2 = std::numbers::sqrt2;

/// Two windings and silicon into a capacitor on node BPLUS, with a bleeder; both ways.
struct Supply {
  double winding_vrms, winding_ohm, farad, start_v;
};

void add_supply(PartsOnABench& ours) {
  ours.maker.diode("D1", "HV1", "BPLUS").diode("D2", "HV2", "BPLUS");
}

/// Builds what is in the maker and joins the windings.
void energise(PartsOnABench& ours, GnucapCircuit& theirs, const Supply& supply, Stage stage,
              const std::set<std::string>& lit = {}) {
  ours.maker.capacitor("C1", "BPLUS", "0", supply.farad)
      .resistor("RB", "BPLUS", "0", 50e3, core::ResistorRole::bleeder);
  Situation situation;
  situation.stage = stage;
  situation.lit = lit;
  ours.build(situation);
  for (const double sign : {1.0, -1.0}) {
    const std::string plate = sign > 0.0 ? "HV1" : "HV2";
    ours.winding("0", plate, sign * supply.winding_vrms * kRoot2, supply.winding_ohm);
    theirs.winding(plate, "0", plate, sign * supply.winding_vrms * kRoot2, supply.winding_ohm)
        .diode(plate, plate, "BPLUS", 1e-9, 1.8, 0.04);
  }
  theirs.capacitor("1", "BPLUS", "0", supply.farad, supply.start_v)
      .resistor("B", "BPLUS", "0", 50e3);
}

core::PowerTube& add_tube(PartsOnABench& bench, const char* type, const GnucapTube& at) {
  const core::PowerTubeType& known = *core::find_power_tube_type(type);
  core::PowerTube tube;
  tube.plate = bench.maker.node(at.plate);
  tube.screen = at.screen.empty() ? core::kOpenNode : bench.maker.node(at.screen);
  tube.grid = bench.maker.node(at.grid);
  tube.cathode = bench.maker.node(at.cathode);
  tube.triode = known.triode;
  tube.law = core::law_through(known.point, known.tail_v);
  tube.driven = known.driven;
  bench.maker.part(at.name, tube);
  return std::get<core::PowerTube>(bench.maker.rig().parts.back().data);
}

/// The space current K s(x)^1.5 over x, s(x) = tail ln(1 + exp(x / tail)).
FitPoints space_current(const core::TubeLaw& law, double low_x, double high_x) {
  return points_dense_at_zero(
      [&](double x) {
        const double s =
            x > 30.0 * law.tail_v ? x : law.tail_v * std::log(1.0 + std::exp(x / law.tail_v));
        return law.perveance * std::pow(s, 1.5);
      },
      low_x, high_x, 0.1 * law.tail_v, 300);
}

/// Share of the current on the plate over its volts, share (2 / pi) atan(v / knee).
FitPoints plate_share(double share, double knee_v, double high_v) {
  return points_dense_at_zero(
      [=](double v) {
        return share * 2.0 / std::numbers::pi * std::atan(std::max(0.0, v) / knee_v);
      },
      -5.0, high_v, 0.05 * knee_v, 300);
}

void add_tube(GnucapCircuit& circuit, const core::TubeLaw& law, const GnucapTube& at) {
  const FitPoints space_a = space_current(law, -40.0 * law.tail_v, 150.0);
  if (at.screen.empty()) {
    circuit.triode(at, law.mu, law.offset_v, space_a);
  } else {
    circuit.pentode(at, law.mu, law.offset_v, space_a,
                    plate_share(law.plate_share, law.knee_v, 2000.0));
  }
}

/// How far the part pulls B+ down, as a share: a load that hardly draws proves nothing.
double pull_on_supply(PartsOnABench loaded, const std::string& part) {
  const double with_v = loaded.figures({"BPLUS"})[0].mean;
  const double without_v = [&] {
    auto& elements = loaded.built.deck.elements;
    for (netlists::Element& element : elements) {
      if (element.part >= 0 &&
          loaded.maker.rig().parts[static_cast<std::size_t>(element.part)].designator == part) {
        element.data = netlists::ResistorElement{loaded.node("BPLUS"), 0, 1e9};
      }
    }
    return loaded.figures({"BPLUS"})[0].mean;
  }();
  return 1.0 - with_v / without_v;
}

// A 812A with its grid at the chassis, biased by the resistor in its cathode lead.
TEST_F(GnucapLoads, TriodeWithACathodeResistor) {
  const GnucapTube at{"V1", "BPLUS", "", "0", "K"};
  PartsOnABench ours;
  add_supply(ours);
  const core::TubeLaw law = add_tube(ours, "812A", at).law;
  ours.maker.resistor("RK", "K", "0", 500.0);
  GnucapCircuit theirs;
  energise(ours, theirs, {900.0, 250.0, 8e-6, 1000.0}, Stage::key_up);
  add_tube(theirs, law, at);
  theirs.resistor("K", "K", "0", 500.0);
  expect_means_agree(ours, theirs, {"BPLUS", "K"}, 0.8);
  EXPECT_GT(pull_on_supply(ours, "V1"), 0.05);
}

// A 6L6GC with its screen behind a dropper and a bypass, biased by its cathode resistor.
TEST_F(GnucapLoads, PentodeWithADropperForItsScreen) {
  const GnucapTube at{"V1", "BPLUS", "SCREEN", "0", "K"};
  PartsOnABench ours;
  add_supply(ours);
  const core::TubeLaw law = add_tube(ours, "6L6GC", at).law;
  ours.maker.resistor("RS", "BPLUS", "SCREEN", 20e3, core::ResistorRole::dropper)
      .capacitor("CS", "SCREEN", "0", 1e-6, core::Dielectric::film)
      .resistor("RK", "K", "0", 300.0);
  GnucapCircuit theirs;
  energise(ours, theirs, {320.0, 200.0, 20e-6, 350.0}, Stage::key_up);
  add_tube(theirs, law, at);
  theirs.resistor("S", "BPLUS", "SCREEN", 20e3)
      .capacitor("S", "SCREEN", "0", 1e-6, 280.0)
      .resistor("K", "K", "0", 300.0);
  expect_means_agree(ours, theirs, {"BPLUS", "SCREEN", "K"}, 0.8);
  EXPECT_GT(pull_on_supply(ours, "V1"), 0.05);
}

// The clamp circuit without drive: a 6Y6 with grid at the chassis pulls the screen line of a 6146B
// down to some tens of volts, where its own plate is at its knee.
TEST_F(GnucapLoads, ClampTubeOnAScreenLine) {
  const GnucapTube amplifier{"V1", "BPLUS", "SCREEN", "0", "0"};
  const GnucapTube clamp{"V2", "SCREEN", "SCREEN", "0", "0"};
  PartsOnABench ours;
  add_supply(ours);
  const core::TubeLaw law = add_tube(ours, "6146B", amplifier).law;
  const core::TubeLaw clamp_law = add_tube(ours, "6Y6", clamp).law;
  ours.maker.resistor("RS", "BPLUS", "SCREEN", 25e3, core::ResistorRole::dropper)
      .capacitor("CS", "SCREEN", "0", 1e-6, core::Dielectric::film);
  GnucapCircuit theirs;
  energise(ours, theirs, {480.0, 200.0, 20e-6, 570.0}, Stage::key_up);
  add_tube(theirs, law, amplifier);
  add_tube(theirs, clamp_law, clamp);
  theirs.resistor("S", "BPLUS", "SCREEN", 25e3).capacitor("S", "SCREEN", "0", 1e-6, 40.0);
  expect_means_agree(ours, theirs, {"BPLUS", "SCREEN"}, 0.8);
  EXPECT_LT(ours.figures({"SCREEN"})[0].mean, 100.0);
}

// Key down: a driven 6146B by its published averages 600 V, 150 V, 58 V; 112, 9, 2.8 mA [6146B-DS].
TEST_F(GnucapLoads, DrivenTubeOnDropperAndGridLeak) {
  const GnucapTube at{"V1", "BPLUS", "SCREEN", "GRID", "0"};
  PartsOnABench ours;
  add_supply(ours);
  add_tube(ours, "6146B", at);
  ours.maker.resistor("RS", "BPLUS", "SCREEN", 47e3, core::ResistorRole::dropper)
      .capacitor("CS", "SCREEN", "0", 1e-6, core::Dielectric::film)
      .resistor("RG", "GRID", "0", 22e3);
  GnucapCircuit theirs;
  energise(ours, theirs, {500.0, 200.0, 20e-6, 560.0}, Stage::key_down);
  const double on_plate = 0.112 / (0.112 + 0.009);
  const double knee_v = 0.06 * 150.0;
  const double share = on_plate / (std::atan(600.0 / knee_v) * 2.0 / std::numbers::pi);
  const double k = (0.112 + 0.009) / std::pow(150.0, 1.5);
  theirs
      .driven_screen({"V1", "BPLUS", "SCREEN", "0", "0"},
                     even_points([=](double v) { return k * std::pow(std::max(0.0, v), 1.5); },
                                 -10.0, 400.0, 410),
                     plate_share(share, knee_v, 2000.0))
      .resistor("P", "BPLUS", "0", 600.0 / 0.112)
      .resistor("S", "BPLUS", "SCREEN", 47e3)
      .capacitor("S", "SCREEN", "0", 1e-6, 120.0)
      .resistor("G", "GRID", "0", 22e3)
      .lines("IG GRID 0 dc 2.8m\n");
  expect_means_agree(ours, theirs, {"BPLUS", "SCREEN", "GRID"}, 0.8);
  EXPECT_GT(pull_on_supply(ours, "V1"), 0.05);
}

/// Glow: run volts at the middle of the window, slope of the regulation over the window, and a
/// diode of 1e-12 A whose drop at the middle is taken off.
void add_glow(GnucapCircuit& circuit, const std::string& name, const std::string& plus,
              const std::string& minus, double run_v, double regulation_v) {
  const double middle_a = 0.5 * (0.005 + 0.030);
  const double ohm = regulation_v / (0.030 - 0.005);
  const double diode_v = 0.025865 * std::log(1.0 + middle_a / 1e-12);
  circuit.direct_volts(name, plus, "in" + name, run_v - middle_a * ohm - diode_v)
      .diode(name, "in" + name, "glow" + name, 1e-12, 1.0, 0.0)
      .resistor("glow" + name, "glow" + name, minus, ohm);
}

// [VR-DS] 0A2 150 V and 0B2 108 V, 5 to 30 mA, 2 V and 1 V over it, in a string with a load.
TEST_F(GnucapLoads, RegulatorString) {
  PartsOnABench ours;
  add_supply(ours);
  const auto add_vr = [&](const char* name, const char* type, const char* plus, const char* minus) {
    const core::VrType& t = *core::find_vr_type(type);
    ours.maker.part(name, core::VrTube{ours.maker.node(plus), ours.maker.node(minus), t.run,
                                       t.strike, t.regulation, t.least, t.most});
  };
  add_vr("VR1", "0A2", "TOP", "JOINT");
  add_vr("VR2", "0B2", "JOINT", "0");
  ours.maker.resistor("RS", "BPLUS", "TOP", 5e3, core::ResistorRole::dropper)
      .load_ohms("RL", "TOP", "0", 20e3, core::DrawnWhen::always);
  GnucapCircuit theirs;
  energise(ours, theirs, {300.0, 200.0, 10e-6, 370.0}, Stage::key_down, {"VR1", "VR2"});
  add_glow(theirs, "1", "TOP", "JOINT", 150.0, 2.0);
  add_glow(theirs, "2", "JOINT", "0", 108.0, 1.0);
  theirs.resistor("S", "BPLUS", "TOP", 5e3).resistor("L", "TOP", "0", 20e3);
  expect_means_agree(ours, theirs, {"BPLUS", "TOP", "JOINT"}, 0.5);
}

}  // namespace
}  // namespace firstglow::published
