#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "core/error.hpp"
#include "netlists/transformer_model.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::netlists {
namespace {

using test::Bench;
using test::RigMaker;

constexpr double kCycle = 1.0 / 60.0;
constexpr double kOmega = 2.0 * std::numbers::pi * 60.0;

/// Stiff 117 V mains straight on a transformer with a plate and a heater winding.
RigMaker iron(double no_load_a = 0.2, double no_load_w = 10.5) {
  RigMaker maker;
  maker.mains(117.0, 60.0, 0.0);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {1.2}),
                    {maker.winding("plate", {"HV1", "0", "HV2"}, {600.0, 590.0}, {44.0, 46.0}),
                     maker.winding("heater", {"H1", "H2"}, {6.5}, {0.03})},
                    no_load_a, no_load_w);
  return maker;
}

core::PowerTransformer record(double no_load_a, double no_load_w) {
  return std::get<core::PowerTransformer>(iron(no_load_a, no_load_w).rig().parts[1].data);
}

/// Closed at the peak, where the magnetising current of the steady state is zero.
Situation closed_at_peak(Stage stage) {
  Situation situation;
  situation.stage = stage;
  situation.closing_angle_deg = 90.0;
  return situation;
}

// By hand: P_core = 10.5 - 0.2^2 * 1.2 = 10.452 W; Q = sqrt(23.4^2 - 10.5^2) = 20.912 var;
// E = hypot(117 - 1.2*10.5/117, 1.2*20.912/117) = 116.8925 V; loss = E^2/P_core = 1307.3 ohm;
// L = E^2 / (377 * 20.912) = 1.7332 H.
TEST(TransformerModel, TurnsNoLoadReadingsIntoACore) {
  const TransformerCore core = transformer_core(record(0.2, 10.5), core::Hertz(60.0));
  EXPECT_NEAR(core.emf_v, 116.8925, 1e-3);
  EXPECT_NEAR(core.loss_ohm, 1307.3, 0.1);
  EXPECT_NEAR(core.magnetising_h, 1.7332, 1e-3);
}

TEST(TransformerModel, RefusesReadingsThatContradictEachOther) {
  // 23.4 VA cannot be 23.5 W; 0.048 W is what the primary copper alone takes at 0.2 A.
  EXPECT_FALSE(no_load_possible(record(0.2, 23.5)));
  EXPECT_FALSE(no_load_possible(record(0.2, 0.048)));
  EXPECT_THROW((void)transformer_core(record(0.2, 23.5), core::Hertz(60.0)), core::ContractError);
  EXPECT_THROW((void)transformer_core(record(0.2, 0.048), core::Hertz(60.0)), core::ContractError);
  EXPECT_TRUE(no_load_possible(record(0.2, 23.3)));
  EXPECT_TRUE(no_load_possible(record(0.2, 0.049)));
  core::PowerTransformer unknown = record(0.2, 10.5);
  unknown.no_load_watts.reset();
  EXPECT_FALSE(no_load_possible(unknown));
  EXPECT_THROW((void)transformer_core(unknown, core::Hertz(60.0)), core::ContractError);
}

// A purely resistive reading (watts = volts times amps) is a limit, not an infinite inductance.
TEST(TransformerModel, TakesAPurelyResistiveReading) {
  const TransformerCore core = transformer_core(record(0.2, 23.4), core::Hertz(60.0));
  EXPECT_TRUE(std::isfinite(core.magnetising_h));
  const double reactive_a = core.emf_v / (kOmega * core.magnetising_h);
  const double active_a = core.emf_v / core.loss_ohm;
  EXPECT_NEAR(std::hypot(reactive_a, active_a), 0.2, 1e-5);
}

// The record is an open-circuit reading, so the open deck must show the record again.
TEST(TransformerDeck, ShowsTheStatedVoltsOnOpenWindings) {
  const RigMaker maker = iron();
  const Bench bench(maker.rig(), closed_at_peak(Stage::transformer), 5 * kCycle);
  EXPECT_NEAR(bench.rms(bench.volts("HV1"), kCycle), 600.0, 0.6);
  EXPECT_NEAR(bench.rms(bench.volts("HV2"), kCycle), 590.0, 0.59);
  std::vector<double> heater = bench.volts("H1");
  for (std::size_t i = 0; i < heater.size(); ++i) {
    heater[i] -= bench.volts("H2")[i];
  }
  EXPECT_NEAR(bench.rms(heater, kCycle), 6.5, 0.0065);
}

TEST(TransformerDeck, DrawsTheStatedNoLoadAmpsAndWatts) {
  const RigMaker maker = iron();
  const Bench bench(maker.rig(), closed_at_peak(Stage::transformer), 5 * kCycle);
  const std::vector<double>& amps = bench.amps("T1", 0);
  EXPECT_NEAR(bench.rms(amps, kCycle), 0.2, 0.001);
  EXPECT_NEAR(bench.mean_product(amps, bench.volts("LINE"), kCycle), 10.5, 0.0525);
}

// Winding ends run in order: the two halves of a centre-tapped winding are in antiphase.
TEST(TransformerDeck, KeepsTheSenseOfTheSections) {
  const RigMaker maker = iron();
  const Bench bench(maker.rig(), closed_at_peak(Stage::transformer), 3 * kCycle);
  EXPECT_GT(bench.mean_product(bench.volts("LINE"), bench.volts("HV1"), kCycle), 0.0);
  EXPECT_LT(bench.mean_product(bench.volts("LINE"), bench.volts("HV2"), kCycle), 0.0);
}

// Phasors: V = E + 1.2 (E / R_core + E / jX + n^2 E / (44 + 6000)), n = 600 / |E0|.
TEST(TransformerDeck, ReflectsALoadIntoThePrimary) {
  RigMaker maker = iron();
  maker.load_ohms("LOAD", "HV1", "0", 6000.0, core::DrawnWhen::always);
  const Bench bench(maker.rig(), closed_at_peak(Stage::tubes_out), 5 * kCycle);
  const double emf = 116.8925;
  const double ratio = 600.0 / emf;
  const std::complex<double> admittance(1.0 / 1307.3 + ratio * ratio / 6044.0,
                                        -1.0 / (kOmega * 1.7332));
  const std::complex<double> loaded_emf = 117.0 / (1.0 + 1.2 * admittance);
  const double primary_a = std::abs(loaded_emf * admittance);
  EXPECT_NEAR(bench.rms(bench.amps("T1", 0), kCycle), primary_a, 0.001 * primary_a);
  EXPECT_NEAR(bench.rms(bench.volts("HV1"), kCycle), std::abs(loaded_emf) * ratio * 6000.0 / 6044.0,
              0.3);
}

// A tapped primary fed at its tap is a step-up: 100 V on a section of 100 of 120 V.
TEST(TransformerDeck, FeedsATappedPrimaryAtItsTap) {
  RigMaker maker;
  maker.mains(100.0, 60.0, 0.0);
  maker.transformer("T1",
                    maker.winding("primary", {"TOP", "LINE", "NEUTRAL"}, {20.0, 100.0}, {0.5, 2.0}),
                    {maker.winding("plate", {"S", "0"}, {240.0}, {30.0})}, 0.05, 2.0);
  const Bench bench(maker.rig(), closed_at_peak(Stage::transformer), 5 * kCycle);
  EXPECT_NEAR(bench.rms(bench.volts("TOP"), kCycle), 120.0, 0.24);
  EXPECT_NEAR(bench.rms(bench.volts("S"), kCycle), 240.0, 0.48);
}

// Magnetising current starts from nothing, so closing at the zero of the sine leaves a direct
// component: the first peak is almost twice the steady peak (linear core; the true one is higher).
TEST(TransformerDeck, DoublesTheFirstMagnetisingPeakAtZeroCrossing) {
  const RigMaker maker = iron();
  Situation situation = closed_at_peak(Stage::transformer);
  const Bench peak(maker.rig(), situation, kCycle);
  situation.closing_angle_deg = 0.0;
  const Bench zero(maker.rig(), situation, kCycle);
  const auto highest = [](const std::vector<double>& a) {
    return *std::max_element(a.begin(), a.end());
  };
  EXPECT_GT(highest(zero.amps("T1", 0)), 1.6 * highest(peak.amps("T1", 0)));
  EXPECT_LT(highest(zero.amps("T1", 0)), 2.0 * highest(peak.amps("T1", 0)));
}

}  // namespace
}  // namespace firstglow::netlists
