// Coils with iron against closed forms: flux doubling, its decay, the swing law, a resonated choke.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "netlists/coils.hpp"
#include "netlists/transformer_model.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::Deck;
using netlists::ResistorElement;
using netlists::SaturatingCoilElement;
using netlists::SineSourceElement;
using netlists::SinhCoilElement;

constexpr double kHertz = 60.0;
constexpr double kOmega = 2.0 * std::numbers::pi * kHertz;
constexpr double kVolts = 120.0;
/// Peak flux of the steady state: sqrt(2) V / omega.
const double kPeakFlux = std::numbers::sqrt2 * kVolts / kOmega;

SaturatingCoilElement coil(int a, double start_vs) {
  return {a, 0, 2.0, 0.01, 1.2 * kPeakFlux, 0.03 * kPeakFlux, start_vs};
}

/// A coil on the mains through `ohm`, closed at `angle_deg`, left with `start_vs`; its current.
sim::Waveforms closed_on(double ohm, double angle_deg, double start_vs, double stop_s = 1.0 / 60) {
  Deck deck;
  const int source = deck.add_node();
  const int top = deck.add_node();
  deck.add(-1, SineSourceElement{source, 0, std::numbers::sqrt2 * kVolts, kHertz, angle_deg});
  const int lead = deck.add(-1, ResistorElement{source, top, ohm});
  deck.add(-1, ResistorElement{top, 0, 1e5});
  deck.add(-1, coil(top, start_vs));
  sim::RunSpec spec;
  spec.stop_s = stop_s;
  spec.max_step_s = 1.0 / kHertz / 2000;
  spec.nodes = {top};
  spec.currents = {lead};
  return run(deck, spec);
}

double peak_a(const sim::Waveforms& waves) { return sim::peak_magnitude_of(waves.current_a[0]); }

// Without resistance the flux of a core closed at the zero of the sine is start + (1 - cos) Bm: it
// reaches Br + 2 Bm after half a cycle, and the current is that of the magnetising curve there.
TEST(FluxDoubling, PeakCurrentIsThatOfTwiceTheFluxAndTheRemanence) {
  for (const double remanence : {0.0, 0.5, 0.8, -0.8}) {
    const double start = remanence * kPeakFlux;
    const double closed_form_a = netlists::coil_amps(coil(0, 0), start + 2.0 * kPeakFlux);
    EXPECT_TRUE(agrees(peak_a(closed_on(1e-3, 0.0, start)),
                       {closed_form_a, 5e-3, 0.0, "by hand: i(Br + 2 Bm)"}))
        << remanence;
  }
}

// Resistance only takes away: flux is lost to R times the integral of i. The bound must hold for
// every angle and either sign of remanence, and at 0 degrees most of it must be there.
TEST(FluxDoubling, BoundsTheCurrentThroughResistance) {
  const double ohm = 1.0;
  const double start = 0.8 * kPeakFlux;
  const double bound_a = netlists::coil_amps(coil(0, 0), start + 2.0 * kPeakFlux);
  double highest_a = 0.0;
  for (int i = 0; i < 8; ++i) {
    for (const double sign : {1.0, -1.0}) {
      const double amps = peak_a(closed_on(ohm, 45.0 * i, sign * start));
      EXPECT_LT(amps, bound_a);
      highest_a = std::max(highest_a, amps);
    }
  }
  EXPECT_GT(highest_a, 0.5 * bound_a);
  EXPECT_LT(highest_a, std::numbers::sqrt2 * kVolts / ohm);  // Ohm's law bounds it too
}

// Closed at the crest with no remanence the flux is at once that of the steady state: no inrush.
TEST(FluxDoubling, CrestAndNoRemanenceGiveNoInrush) {
  const double steady_a = netlists::coil_amps(coil(0, 0), kPeakFlux);
  EXPECT_TRUE(agrees(peak_a(closed_on(1e-3, 90.0, 0.0)), {steady_a, 5e-3, 0.01, "by hand: i(Bm)"}));
}

// Below the knee the offset of the flux dies as exp(-R t / L): at a fifth of the volts, where twice
// the flux stays in the straight part. Offset of the current after n cycles, from means of a cycle.
TEST(FluxDoubling, OffsetDiesWithTheTimeConstantOfTheWinding) {
  Deck deck;
  const int source = deck.add_node();
  const int top = deck.add_node();
  const double ohm = 20.0;
  const double henry = 2.0;
  deck.add(-1, SineSourceElement{source, 0, 0.2 * std::numbers::sqrt2 * kVolts, kHertz, 0.0});
  const int lead = deck.add(-1, ResistorElement{source, top, ohm});
  deck.add(-1, ResistorElement{top, 0, 1e7});
  deck.add(-1, coil(top, 0.0));
  const auto mean_of_cycle = [&](int cycle) {
    sim::RunSpec spec;
    spec.save_from_s = cycle / kHertz;
    spec.stop_s = (cycle + 1) / kHertz;
    spec.max_step_s = 1.0 / kHertz / 1000;
    spec.currents = {lead};
    const sim::Waveforms waves = run(deck, spec);
    return sim::mean_of({waves.time_s, waves.current_a[0]});
  };
  const double share = mean_of_cycle(6) / mean_of_cycle(1);
  EXPECT_TRUE(agrees(share, {std::exp(-5.0 / kHertz * ohm / henry), 0.01, 0.0,
                             "by hand: exp(-R t / L) over five cycles"}));
}

// A swinging coil on constant volts: flux = V t, so i = a sinh(V t / b).
TEST(SwingingChoke, RisesOnConstantVoltsAsTheHyperbolicSine) {
  Deck deck;
  const int source = deck.add_node();
  const int top = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{source, 0, 100.0});
  const int lead = deck.add(-1, ResistorElement{source, top, 1e-3});
  deck.add(-1, ResistorElement{top, 0, 1e7});
  deck.add(-1, SinhCoilElement{top, 0, 0.05, 1.5});
  sim::RunSpec spec;
  spec.stop_s = 0.04;
  spec.max_step_s = 2e-5;
  spec.currents = {lead};
  const sim::Waveforms waves = run(deck, spec);
  for (const std::size_t i :
       {waves.time_s.size() / 4, waves.time_s.size() / 2, waves.time_s.size() - 1}) {
    EXPECT_TRUE(agrees(waves.current_a[0][i], {0.05 * std::sinh(100.0 * waves.time_s[i] / 1.5),
                                               2e-3, 2e-5, "by hand: a sinh(V t / b)"}));
  }
  EXPECT_NEAR(waves.final_state.at(0), 4.0, 4e-3);  // flux V t
}

core::Choke choke(double h1, double a1, double h2, double a2) {
  core::Choke part;
  part.value.marked = core::Henries(h1);
  part.value_current = core::Amps(a1);
  part.loaded_inductance = core::Henries(h2);
  part.loaded_current = core::Amps(a2);
  return part;
}

// The law must run exactly through both points, also at a corner of the tolerance.
TEST(SwingingChoke, LawMeetsItsTwoPoints) {
  const netlists::SwingLaw law = netlists::swing_law(choke(25.0, 0.03, 5.0, 0.3), 25.0);
  EXPECT_NEAR(law.henry_at(0.03), 25.0, 1e-9);
  EXPECT_NEAR(law.henry_at(0.3), 5.0, 1e-9);
  const netlists::SwingLaw high = netlists::swing_law(choke(25.0, 0.03, 5.0, 0.3), 28.75);
  EXPECT_NEAR(high.henry_at(0.3), 5.75, 1e-9);
  // A merely saturating choke: 10 H at rest, 8 H at its rating.
  const netlists::SwingLaw soft = netlists::swing_law(choke(10.0, 0.0, 8.0, 0.2), 10.0);
  EXPECT_NEAR(soft.henry_at_rest(), 10.0, 1e-9);
  EXPECT_NEAR(soft.henry_at(0.2), 8.0, 1e-9);
}

TEST(SwingingChoke, SlopeOfTheLawIsItsInductance) {
  const netlists::SwingLaw law = netlists::swing_law(choke(25.0, 0.03, 5.0, 0.3), 25.0);
  const SinhCoilElement element{0, 1, law.scale_a, law.scale_vs};
  for (const double flux : {-2.0, 0.1, 1.0, 3.0}) {
    const double amps = netlists::coil_amps(element, flux);
    const double slope =
        (netlists::coil_amps(element, flux + 1e-5) - netlists::coil_amps(element, flux - 1e-5)) /
        2e-5;
    EXPECT_NEAR(1.0 / slope, law.henry_at(amps), 1e-5);
  }
}

core::PowerTransformer iron(double second_v, double second_a) {
  test::RigMaker maker;
  maker.mains(117.0, 60.0, 0.0);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {1.2}),
                    {maker.winding("plate", {"H", "0"}, {600.0}, {44.0})}, 0.2, 10.5);
  auto part = std::get<core::PowerTransformer>(maker.rig().parts[1].data);
  part.primary.rated_current = core::Amps(2.0);
  if (second_v > 0.0) {
    part.second_no_load_volts = core::RmsVolts(second_v);
    part.second_no_load_current = core::Amps(second_a);
  }
  return part;
}

/// No-load amps of the model on `volts`: magnetising and loss amps at right angles.
double no_load_a(const core::PowerTransformer& part, double volts) {
  const auto core = netlists::transformer_core(part, core::Hertz(60.0));
  const auto knee = netlists::saturating_core(part, core::Hertz(60.0));
  const double share = volts / 117.0;
  return std::hypot(knee.magnetising_rms_a(share * knee.rated_flux_vs),
                    share * core.emf_v / core.loss_ohm);
}

// Both readings of the bench must come out of the fitted core.
TEST(SaturatingCore, MeetsBothNoLoadReadings) {
  for (const double second_a : {0.26, 0.35, 0.6}) {
    const core::PowerTransformer part = iron(135.0, second_a);
    EXPECT_TRUE(netlists::saturating_core(part, core::Hertz(60.0)).knee_measured);
    EXPECT_TRUE(agrees(no_load_a(part, 117.0), {0.2, 5e-3, 0.0, "first reading"}));
    EXPECT_TRUE(agrees(no_load_a(part, 135.0), {second_a, 5e-3, 0.0, "second reading"}));
  }
}

// Peak flux at the stated volts by hand: sqrt(2) 116.8925 / 377 = 0.4385 Vs; knee 1.2 times that;
// 5 % of 117 V / 2 A over 377 is 7.76 mH.
TEST(SaturatingCore, HasItsDefaultsFromTheRatings) {
  const auto knee = netlists::saturating_core(iron(0, 0), core::Hertz(60.0));
  EXPECT_NEAR(knee.rated_flux_vs, 0.4385, 1e-4);
  EXPECT_NEAR(knee.knee_vs, 1.2 * 0.4385, 2e-4);
  EXPECT_NEAR(knee.air_h, 7.76e-3, 1e-5);
  EXPECT_FALSE(knee.knee_measured);
  EXPECT_TRUE(agrees(no_load_a(iron(0, 0), 117.0), {0.2, 0.01, 0.0, "first reading"}));
}

// [by hand] 60 Hz iron on 50 Hz carries 1.2 times the flux at the same volts: its no-load amps
// rise far above the linear 1.2 times.
TEST(SaturatingCore, SixtyCycleIronRunsIntoItsKneeOnFifty) {
  core::PowerTransformer part = iron(0, 0);
  part.no_load_frequency = core::Hertz(60.0);
  const auto knee = netlists::saturating_core(part, core::Hertz(50.0));
  EXPECT_NEAR(knee.rated_flux_vs, 0.4385, 1e-4);  // still that of the readings
  const double at_60 = knee.magnetising_rms_a(knee.rated_flux_vs);
  EXPECT_GT(knee.magnetising_rms_a(1.2 * knee.rated_flux_vs), 2.0 * at_60);
}

}  // namespace
}  // namespace firstglow::published
