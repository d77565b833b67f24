// Gas tubes, selenium and chokes with iron: parts as the deck builder makes them against circuits
// written by hand for gnucap [GNUCAP] from the equations of docs/methods.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/tube_types.hpp"
#include "netlists/coils.hpp"
#include "tests/published/parts_on_a_bench.hpp"

namespace firstglow::published {
namespace {

class GnucapRectifiers : public WithGnucap {};

constexpr double kThermalV = 0.025865;  // kT/q at the 27 C of both engines
const double kRoot2 = std::numbers::sqrt2;

/// docs/methods/filter.md: core loss of a choke, 30 times its reactance at twice the line.
double core_loss_ohm(double henry) {
  return 30.0 * 2.0 * std::numbers::pi * 2.0 * kBenchHertz * henry;
}

void add_gas_tube(PartsOnABench& bench, const std::string& name, const std::string& plate,
                  const std::string& cathode, const core::GasRectifierType& type) {
  core::GasRectifier tube;
  tube.plate = bench.maker.node(plate);
  tube.cathode = bench.maker.node(cathode);
  tube.heater.a = tube.cathode;
  tube.heater.b = bench.maker.node(cathode + "_F");
  tube.heater.rated_volts = core::RmsVolts(type.heater_v);
  tube.heater.rated_current = core::Amps(type.heater_a);
  tube.heater.direct = true;
  tube.drop_volts = core::Volts(type.drop_v);
  tube.average_current = core::Amps(0.25);
  bench.maker.part(name, tube);
}

/// docs/methods/tube_rectifiers.md: IS 1e-9 A, N 8 and 2 ohm in front of back volts, so that the
/// published drop stands at the average rating, here 0.25 A.
void add_gas_tube(GnucapCircuit& circuit, const std::string& name, const std::string& plate,
                  const std::string& cathode, double drop_v) {
  const double soft_v = 8.0 * kThermalV * std::log(1.0 + 0.25 / 1e-9) + 2.0 * 0.25;
  circuit.diode(name, plate, "arc" + name, 1e-9, 8.0, 2.0)
      .direct_volts("arc" + name, "arc" + name, cathode, drop_v - soft_v)
      .snubber("N" + name, plate, cathode);
}

void add_swinging_choke(PartsOnABench& bench, const std::string& a, const std::string& b,
                        double ohm, const core::Choke& points) {
  core::Choke choke = points;
  choke.a = bench.maker.node(a);
  choke.b = bench.maker.node(b);
  choke.dc_resistance = core::Ohms(ohm);
  bench.maker.part("L1", choke);
}

core::Choke swing(double h1, double a1, double h2, double a2) {
  core::Choke choke;
  choke.value.marked = core::Henries(h1);
  choke.value_current = core::Amps(a1);
  choke.loaded_inductance = core::Henries(h2);
  choke.loaded_current = core::Amps(a2);
  return choke;
}

/// docs/methods/core_saturation.md, solved for the flux: b asinh(i / a), through both points.
FitPoints swing_flux(double h1, double a1, double h2, double a2) {
  const double a = std::sqrt(((h2 * a2) * (h2 * a2) - (h1 * a1) * (h1 * a1)) / (h1 * h1 - h2 * h2));
  const double b = h1 * std::sqrt(a * a + a1 * a1);
  return points_dense_at_zero([=](double amps) { return b * std::asinh(amps / a); }, -3.0, 3.0,
                              0.1 * a, 160);
}

struct ChokeLoad {
  double load_ohm, out_v, choke_a;  ///< volts and amps to start gnucap from
};

void expect_mercury_agrees(const ChokeLoad& load) {
  const core::GasRectifierType& type = *core::find_gas_rectifier_type("866A");
  PartsOnABench ours;
  add_gas_tube(ours, "V1", "HV1", "FIL", type);
  add_gas_tube(ours, "V2", "HV2", "FIL", type);
  add_swinging_choke(ours, "FIL", "OUT", 75.0, swing(25.0, 0.030, 5.0, 0.300));
  ours.maker.capacitor("C1", "OUT", "0", 4e-6, core::Dielectric::paper_oil)
      .resistor("R1", "OUT", "0", load.load_ohm, core::ResistorRole::bleeder);
  ours.build();
  GnucapCircuit theirs;
  add_gas_tube(theirs, "1", "HV1", "FIL", 15.0);
  add_gas_tube(theirs, "2", "HV2", "FIL", 15.0);
  theirs.coil("1", "FIL", "WIRE", swing_flux(25.0, 0.030, 5.0, 0.300), load.choke_a)
      .resistor("loss", "FIL", "WIRE", core_loss_ohm(25.0))
      .resistor("wire", "WIRE", "OUT", 75.0)
      .capacitor("1", "OUT", "0", 4e-6, load.out_v)
      .resistor("load", "OUT", "0", load.load_ohm);
  for (const double sign : {1.0, -1.0}) {
    const std::string plate = sign > 0.0 ? "HV1" : "HV2";
    ours.winding("0", plate, sign * 1500.0 * kRoot2, 70.0);
    ours.snubber(plate, "FIL");
    theirs.winding(plate, "0", plate, sign * 1500.0 * kRoot2, 70.0);
  }
  expect_means_agree(ours, theirs, {"FIL", "OUT"}, 2.0);
}

// 1500-0-1500 V, a pair of 866A, a choke that swings from 25 H to 5 H.
TEST_F(GnucapRectifiers, MercuryPairWithSwingingChokeOnItsBleeder) {
  expect_mercury_agrees({25e3, 1200.0, 0.048});
}
TEST_F(GnucapRectifiers, MercuryPairWithSwingingChokeLoaded) {
  expect_mercury_agrees({4.5e3, 1170.0, 0.26});
}
// Below the critical current the volts soar towards the peak, and how far depends on the choke.
TEST_F(GnucapRectifiers, MercuryPairWithSwingingChokeBelowItsCriticalCurrent) {
  expect_mercury_agrees({150e3, 1330.0, 0.008});
}

// Four xenon tubes in a bridge on 1000 V, each with a filament winding of its own.
TEST_F(GnucapRectifiers, XenonBridgeWithChokeInput) {
  const core::GasRectifierType& type = *core::find_gas_rectifier_type("3B28");
  const std::pair<const char*, const char*> ways[] = {
      {"AC1", "FIL"}, {"AC2", "FIL"}, {"0", "AC1"}, {"0", "AC2"}};
  PartsOnABench ours;
  GnucapCircuit theirs;
  for (int i = 0; i < 4; ++i) {
    add_gas_tube(ours, "V" + std::to_string(i), ways[i].first, ways[i].second, type);
    add_gas_tube(theirs, std::to_string(i), ways[i].first, ways[i].second, 10.0);
  }
  ours.maker.choke("L1", "FIL", "OUT", 8.0, 80.0)
      .capacitor("C1", "OUT", "0", 8e-6, core::Dielectric::paper_oil)
      .resistor("R1", "OUT", "0", 4e3, core::ResistorRole::bleeder);
  ours.build();
  for (const auto& [plate, cathode] : ways) {
    ours.snubber(plate, cathode);
  }
  ours.winding("AC2", "AC1", 1000.0 * kRoot2, 60.0);
  theirs.winding("ac", "AC2", "AC1", 1000.0 * kRoot2, 60.0)
      .lines("L1 FIL WIRE 8 ic=0.2\n")
      .resistor("loss", "FIL", "WIRE", core_loss_ohm(8.0))
      .resistor("wire", "WIRE", "OUT", 80.0)
      .capacitor("1", "OUT", "0", 8e-6, 780.0)
      .resistor("load", "OUT", "0", 4e3);
  expect_means_agree(ours, theirs, {"FIL", "OUT"}, 1.5);
}

// Half wave on 65 V rms, four plates of 65 mA, two cans with their positive at the chassis.
TEST_F(GnucapRectifiers, SeleniumBias) {
  PartsOnABench ours;
  core::SeleniumRectifier stack;
  stack.anode = ours.maker.node("RAW");
  stack.cathode = ours.maker.node("AC");
  stack.plates = 4;
  stack.drop_per_plate = core::Volts(1.0);
  stack.average_current = core::Amps(0.065);
  ours.maker.part("SR1", stack)
      .capacitor("C1", "0", "RAW", 22e-6)
      .resistor("R1", "RAW", "BIAS", 2.2e3)
      .capacitor("C2", "0", "BIAS", 22e-6)
      .resistor("R2", "BIAS", "0", 3.3e3, core::ResistorRole::bleeder);
  ours.build();
  ours.winding("0", "AC", 65.0 * kRoot2, 138.0);
  // 60 % of each plate's volt as junction of N 3, 40 % as resistance, four times
  const double saturation_a = 0.065 / (std::exp(0.6 / (3.0 * kThermalV)) - 1.0);
  GnucapCircuit theirs;
  theirs.winding("ac", "0", "AC", 65.0 * kRoot2, 138.0)
      .diode("1", "RAW", "AC", saturation_a, 4 * 3.0, 4 * 0.4 / 0.065)
      .capacitor("1", "0", "RAW", 22e-6, 60.0)
      .resistor("1", "RAW", "BIAS", 2.2e3)
      .capacitor("2", "0", "BIAS", 22e-6, 36.0)
      .resistor("2", "BIAS", "0", 3.3e3);
  expect_means_agree(ours, theirs, {"RAW", "BIAS"}, 1.5);
}

struct Ripple {
  GnucapFigures ours, theirs;
};

/// A pair of silicon diodes, choke input, with the choke already on the bench.
void add_choke_input(PartsOnABench& ours) {
  ours.maker.diode("D1", "HV1", "RECT")
      .diode("D2", "HV2", "RECT")
      .capacitor("C1", "OUT", "0", 8e-6, core::Dielectric::film)
      .resistor("R1", "OUT", "0", 2e3, core::ResistorRole::bleeder);
  ours.build();
  for (const double sign : {1.0, -1.0}) {
    const std::string plate = sign > 0.0 ? "HV1" : "HV2";
    ours.winding("0", plate, sign * 450.0 * kRoot2, 50.0);
    ours.snubber(plate, "RECT");
  }
}

/// The same in gnucap's words.
Ripple ripple_behind(PartsOnABench& ours, GnucapCircuit& theirs, double henry) {
  add_choke_input(ours);
  for (const double sign : {1.0, -1.0}) {
    const std::string plate = sign > 0.0 ? "HV1" : "HV2";
    theirs.winding(plate, "0", plate, sign * 450.0 * kRoot2, 50.0)
        .diode(plate, plate, "RECT", 1e-9, 1.8, 0.04)
        .snubber("N" + plate, plate, "RECT");
  }
  theirs.resistor("loss", "RECT", "WIRE", core_loss_ohm(henry))
      .resistor("wire", "WIRE", "OUT", 90.0)
      .capacitor("1", "OUT", "0", 8e-6, 340.0)
      .resistor("load", "OUT", "0", 2e3);
  expect_means_agree(ours, theirs, {"RECT", "OUT"}, 1.5);
  return {ours.figures({"OUT"})[0], theirs.figures({"OUT"}, 1.5)[0]};
}

double swing_of(const GnucapFigures& figures) { return figures.highest - figures.lowest; }

// Means behind a choke say little of its henries; the ripple does. 3 %: gnucap prints five digits,
// and its crests fall between 200 points a cycle.
TEST_F(GnucapRectifiers, SaturatingChokeLetsThroughTheSameRipple) {
  PartsOnABench ours;
  add_swinging_choke(ours, "RECT", "OUT", 90.0, swing(10.0, 0.0, 5.0, 0.150));
  GnucapCircuit theirs;
  theirs.coil("1", "RECT", "WIRE", swing_flux(10.0, 0.0, 5.0, 0.150), 0.17);
  const Ripple found = ripple_behind(ours, theirs, 10.0);
  EXPECT_TRUE(agrees(swing_of(found.ours),
                     {swing_of(found.theirs), 0.03, 0.0, "[GNUCAP] written by hand"}));
  // negative control: at 190 mA the law has 4 H, and a choke that kept its 10 H
  // would let through less than half
  PartsOnABench stiff;
  stiff.maker.choke("L1", "RECT", "OUT", 10.0, 90.0);
  add_choke_input(stiff);
  EXPECT_LT(swing_of(stiff.figures({"OUT"})[0]), 0.6 * swing_of(found.ours));
}

// 4 H and 0.44 uF are in resonance at 120 Hz (by hand: 1 / (2 pi sqrt(4 x 0.44e-6)) = 120.0 Hz):
// what is left is 240 Hz and the core loss.
TEST_F(GnucapRectifiers, ResonatedChokeLetsThroughTheSameRipple) {
  PartsOnABench ours;
  ours.maker.choke("L1", "RECT", "OUT", 4.0, 90.0)
      .capacitor("C2", "RECT", "OUT", 0.44e-6, core::Dielectric::film);
  GnucapCircuit theirs;
  theirs.lines("L1 RECT WIRE 4 ic=0.17\n").capacitor("2", "RECT", "OUT", 0.44e-6, 0.0);
  const Ripple found = ripple_behind(ours, theirs, 4.0);
  EXPECT_TRUE(agrees(swing_of(found.ours),
                     {swing_of(found.theirs), 0.03, 0.0, "[GNUCAP] written by hand"}));
}

/// docs/methods/core_saturation.md, the core with a knee: amps at a flux.
double knee_amps(double flux, double l0, double air, double knee, double width) {
  const auto s = [](double u) { return u > 30.0 ? u : std::log(1.0 + std::exp(u)); };
  return flux / l0 +
         (1.0 / air - 1.0 / l0) * width * (s((flux - knee) / width) - s((-flux - knee) / width));
}

// A half-wave load pulls direct current through a winding whose core saturates.
TEST_F(GnucapRectifiers, SaturatingCoreUnderAHalfWaveLoad) {
  const double peak_flux = 120.0 * kRoot2 / (2.0 * std::numbers::pi * kBenchHertz);
  const double knee = 1.05 * peak_flux;
  const double width = 0.03 * peak_flux;
  PartsOnABench ours;
  ours.maker.diode("D1", "AC", "OUT")
      .capacitor("C1", "OUT", "0", 47e-6)
      .resistor("R1", "OUT", "0", 1e3, core::ResistorRole::bleeder);
  ours.build();
  ours.winding("0", "AC", 120.0 * kRoot2, 40.0);
  PartsOnABench stiff = ours;
  stiff.built.deck.add(-1, netlists::InductorElement{stiff.node("AC"), 0, 2.0, 0.0});
  ours.built.deck.add(
      -1, netlists::SaturatingCoilElement{ours.node("AC"), 0, 2.0, 0.05, knee, width, 0.0});
  FitPoints flux_of_amps;
  for (const auto& [flux, amps] : even_points(
           [&](double flux) { return knee_amps(flux, 2.0, 0.05, knee, width); }, -3.0, 3.0, 600)) {
    flux_of_amps.emplace_back(amps, flux);
  }
  GnucapCircuit theirs;
  theirs.winding("ac", "0", "AC", 120.0 * kRoot2, 40.0)
      .coil("1", "AC", "0", flux_of_amps, 0.0)
      .diode("1", "AC", "OUT", 1e-9, 1.8, 0.04)
      .capacitor("1", "OUT", "0", 47e-6, 110.0)
      .resistor("1", "OUT", "0", 1e3);
  expect_means_agree(ours, theirs, {"OUT"}, 2.0);
  // negative control: iron that never saturates gives other volts
  EXPECT_GT(std::abs(stiff.figures({"OUT"})[0].mean / ours.figures({"OUT"})[0].mean - 1.0), 0.01);
}

}  // namespace
}  // namespace firstglow::published
