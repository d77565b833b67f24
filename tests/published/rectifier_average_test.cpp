// Averages, ripple factors and harmonics of unfiltered rectifiers, and how their winding works.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/full_wave_source.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"
#include "tests/published/schade_circuit.hpp"

namespace firstglow::published {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kLoadOhm = 100e3;

/// One cycle of a rectifier into a plain resistor.
struct Resistive {
  FullWaveSource circuit;
  sim::Waveforms waves;  ///< node 0: output; currents: source, load
};
Resistive into_resistor(FullWaveSource circuit) {
  const int load = circuit.deck.add(-1, netlists::ResistorElement{circuit.rectified, 0, kLoadOhm});
  const CyclePlan plan{kSourceHertz, 2000, {circuit.rectified}, {circuit.source, load}};
  return {circuit, settled_cycle(circuit.deck, plan)};
}

sim::SampledView output_of(const Resistive& r) { return {r.waves.time_s, r.waves.node_v[0]}; }
sim::SampledView winding_of(const Resistive& r) { return {r.waves.time_s, r.waves.current_a[0]}; }
double mean_amps(const Resistive& r) {
  return sim::mean_of({r.waves.time_s, r.waves.current_a[1]});
}

/// Cosine amplitude of harmonic k, time counted from the crest of the output.
double cosine_of(const Resistive& r, int k) {
  std::vector<double> wave;
  for (const double t : r.waves.time_s) {
    wave.push_back(2.0 * std::cos(k * (2.0 * kPi * kSourceHertz * t - 0.5 * kPi)));
  }
  return sim::mean_product_of(r.waves.time_s, r.waves.node_v[0], wave) / kSourcePeakV;
}

// [TERMAN]: half wave 0.450 of the rms volts, ripple factor 1.21, 40.6 % of the ac watts.
TEST(UnfilteredRectifier, HalfWaveFiguresOfTheHandbook) {
  const Resistive r = into_resistor(half_wave_source());
  const double mean_v = sim::mean_of(output_of(r));
  EXPECT_TRUE(agrees(mean_v / kSourcePeakV, Published{1.0 / kPi, 2e-4, 0.0, "by hand: 1/pi"}));
  EXPECT_TRUE(agrees(mean_v * std::numbers::sqrt2 / kSourcePeakV,
                     Published{0.450, 0.0, 5.1e-4, "[TERMAN] half wave, Vdc/Vrms"}));
  EXPECT_TRUE(agrees(sim::ac_rms_of(output_of(r)) / mean_v,
                     Published{1.21, 0.0, 5.1e-3, "[TERMAN] half wave, ripple factor"}));
  const double total_v = sim::rms_of(output_of(r));
  EXPECT_TRUE(
      agrees(100.0 * mean_v * mean_v / (total_v * total_v),
             Published{40.6, 0.0, 0.1, "[TERMAN] half wave, efficiency %; 4/pi^2 = 40.53"}));
}

// [TERMAN]: full wave 0.9003 of the rms volts, ripple factor 0.483, form factor 1.11, 81.2 %.
TEST(UnfilteredRectifier, FullWaveFiguresOfTheHandbook) {
  for (const FullWaveSource& circuit : {full_wave_source(), bridge_source()}) {
    const Resistive r = into_resistor(circuit);
    const double mean_v = sim::mean_of(output_of(r));
    const double total_v = sim::rms_of(output_of(r));
    EXPECT_TRUE(agrees(mean_v * std::numbers::sqrt2 / kSourcePeakV,
                       Published{0.9003, 0.0, 1e-4, "[TERMAN] full wave, Vdc/Vrms"}));
    EXPECT_TRUE(agrees(sim::ac_rms_of(output_of(r)) / mean_v,
                       Published{0.483, 0.0, 5.1e-4, "[TERMAN] full wave, ripple factor"}));
    EXPECT_TRUE(
        agrees(total_v / mean_v, Published{1.11, 0.0, 5.1e-3, "[TERMAN] full wave, form factor"}));
    EXPECT_TRUE(
        agrees(100.0 * mean_v * mean_v / (total_v * total_v),
               Published{81.1, 0.0, 0.1, "[TERMAN] full wave, efficiency %; 8/pi^2 = 81.06"}));
  }
}

// |sin| = 2/pi - (4/3pi) cos 2wt - (4/15pi) cos 4wt - ... ; counted from the crest the signs turn.
TEST(UnfilteredRectifier, FullWaveHasTheHarmonicsOfFourier) {
  const Resistive r = into_resistor(full_wave_source());
  EXPECT_TRUE(agrees(cosine_of(r, 2), Published{0.4244, 0.0, 1e-4, "by hand: 4/(3 pi), [TERMAN]"}));
  EXPECT_TRUE(agrees(cosine_of(r, 4), Published{-0.0849, 0.0, 1e-4, "by hand: 4/(15 pi)"}));
  EXPECT_TRUE(agrees(cosine_of(r, 6), Published{0.0364, 0.0, 1e-4, "by hand: 4/(35 pi)"}));
  EXPECT_TRUE(agrees(cosine_of(r, 1), Published{0.0, 0.0, 1e-4, "by hand: no odd harmonic"}));
  EXPECT_DOUBLE_EQ(rectified_harmonic(1), 4.0 / (3.0 * kPi));
}

// Half a sine: 1/pi + (1/2) sin wt - (2/3pi) cos 2wt ...
TEST(UnfilteredRectifier, HalfWaveKeepsHalfTheFundamental) {
  const Resistive r = into_resistor(half_wave_source());
  EXPECT_TRUE(agrees(cosine_of(r, 1), Published{0.5, 0.0, 1e-4, "by hand: 1/2"}));
  EXPECT_TRUE(
      agrees(cosine_of(r, 2), Published{2.0 / (3.0 * kPi), 0.0, 1e-4, "by hand: 2/(3 pi)"}));
}

// Winding rms over load mean. By hand: pi/2, pi/4 for each half, pi/(2 sqrt 2).
TEST(WindingCurrent, ResistiveLoadGivesTheExactFactors) {
  const auto factor = [](const Resistive& r) { return sim::rms_of(winding_of(r)) / mean_amps(r); };
  const Resistive half = into_resistor(half_wave_source());
  const Resistive tapped = into_resistor(full_wave_source());
  const Resistive bridge = into_resistor(bridge_source());
  EXPECT_TRUE(agrees(factor(half), Published{0.5 * kPi, 2e-4, 0.0, "by hand: pi/2"}));
  EXPECT_TRUE(agrees(factor(tapped), Published{0.25 * kPi, 2e-4, 0.0, "by hand: pi/4"}));
  EXPECT_TRUE(agrees(factor(bridge), Published{0.5 * kPi / std::numbers::sqrt2, 2e-4, 0.0,
                                               "by hand: pi/(2 sqrt 2)"}));
  EXPECT_TRUE(agrees(factor(half), Published{1.6, 0.0, 0.051, "[ATC-FROST] half wave"}));
  EXPECT_TRUE(agrees(factor(tapped), Published{0.8, 0.0, 0.051, "[ATC-FROST] centre tap"}));
  EXPECT_TRUE(agrees(factor(bridge), Published{1.1, 0.0, 0.051, "[ATC-FROST] bridge"}));
}

// [ATC-FROST] prints one factor for capacitor input; it depends on RS/RL. At the RS/RL of ordinary
// small transformers (half wave 2 %, bridge 5 %) the circuit gives the printed digits.
TEST(WindingCurrent, CapacitorInputMeetsThePrintedFactors) {
  const SchadeFigures half = schade_by_engine({Rectifier::half_wave, 100, 0.02});
  EXPECT_TRUE(agrees(half.rms_over_mean_a, Published{2.6, 0.0, 0.051, "[ATC-FROST] half wave"}));
  const SchadeFigures full = schade_by_engine({Rectifier::full_wave, 20, 0.05});
  // Each diode carries half the load's mean, and a bridge winding both pulses: k / sqrt 2.
  EXPECT_TRUE(agrees(full.rms_over_mean_a / std::numbers::sqrt2,
                     Published{1.8, 0.0, 0.051, "[ATC-FROST] bridge"}));
  // Each half of a tapped winding carries one diode: k / 2. At 8 %, as of a small receiver
  // transformer, the printed digit; at 5 % it is 1.27.
  const SchadeFigures tapped = schade_by_engine({Rectifier::full_wave, 20, 0.08});
  EXPECT_TRUE(agrees(tapped.rms_over_mean_a / 2.0,
                     Published{1.2, 0.0, 0.051, "[ATC-FROST] centre tap, each half"}));
  const SchadeFigures by_cvode = schade_by_cvode({Rectifier::full_wave, 20, 0.05});
  EXPECT_TRUE(agrees(full.rms_over_mean_a / 2.0,
                     Published{by_cvode.rms_over_mean_a / 2.0, 0.01, 0.0, "a second solver"}));
}

}  // namespace
}  // namespace firstglow::published
