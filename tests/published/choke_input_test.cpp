// Choke-input filters: mean volts, critical inductance with its sharp onset, ripple.
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/full_wave_source.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kOmega = 2.0 * kPi * kSourceHertz;
constexpr double kFullMean = 2.0 / kPi;
/// The joined cathodes have a damped snubber that rings with the choke in this time, 18 steps: when
/// the choke current stops they have to go somewhere, and an instant jump cannot be integrated.
constexpr double kSnubberRingSeconds = 150e-6;
constexpr int kStepsPerCycle = 2000;

struct ChokeFilter {
  double henry, farad, ohm;  ///< farad 0: no capacitor
};

struct ChokeFigures {
  double mean;              ///< output over Vm
  double ripple_share;      ///< rms ripple over mean
  double swing;             ///< peak to peak over Vm
  double lowest_choke_a;    ///< over the mean
  double winding_rms_over;  ///< rms of one winding half over the load's mean
};

void add_snubber(FullWaveSource& source, double henry) {
  const double ring = kSnubberRingSeconds / (2.0 * kPi);
  const int middle = source.deck.add_node();
  source.deck.add(-1, netlists::ResistorElement{source.rectified, middle, henry / ring});
  source.deck.add(-1, netlists::CapacitorElement{middle, 0, ring * ring / henry});
}

ChokeFigures through_engine(const ChokeFilter& filter, FullWaveSource source = full_wave_source()) {
  add_snubber(source, filter.henry);
  const double mean_v = kFullMean * kSourcePeakV;
  auto& deck = source.deck;
  const int output = deck.add_node();
  const int choke = deck.add(
      -1, netlists::InductorElement{source.rectified, output, filter.henry, mean_v / filter.ohm});
  if (filter.farad > 0.0) {
    deck.add(-1, netlists::CapacitorElement{output, 0, filter.farad, mean_v});
  }
  deck.add(-1, netlists::ResistorElement{output, 0, filter.ohm});
  const auto waves =
      settled_cycle(deck, {kSourceHertz, kStepsPerCycle, {output}, {choke, source.source}});
  const sim::SampledView volts{waves.time_s, waves.node_v[0]};
  const sim::SampledView amps{waves.time_s, waves.current_a[0]};
  const sim::SampledView winding{waves.time_s, waves.current_a[1]};
  const double swing_v = sim::highest_of(volts.value) - sim::lowest_of(volts.value);
  return {sim::mean_of(volts) / kSourcePeakV, sim::ac_rms_of(volts) / sim::mean_of(volts),
          swing_v / kSourcePeakV, sim::lowest_of(amps.value) / sim::mean_of(amps),
          sim::rms_of(winding) / sim::mean_of(amps)};
}

/// Ripple of the linear filter by the Fourier series of the rectified sine: rms over mean.
double ripple_by_series(const ChokeFilter& filter) {
  double sum = 0.0;
  for (int n = 1; n <= 50; ++n) {
    const std::complex<double> jw(0.0, 2.0 * n * kOmega);
    const auto admittance = 1.0 / filter.ohm + jw * filter.farad;
    const auto gain = 1.0 / (1.0 + jw * filter.henry * admittance);
    sum += 0.5 * std::norm(rectified_harmonic(n) * gain);
  }
  return std::sqrt(sum) / kFullMean;
}

/// wL/R at which the choke current just touches zero, infinite C. By hand: with v = 2 Vm / pi the
/// current is Idc + (Vm/wL) (1 - cos x - 2x/pi), lowest at sin x = 2/pi; Idc = 2 Vm / (pi R).
double critical_reactance() {
  const double x = std::asin(kFullMean);
  return (std::cos(x) + 2.0 * x / kPi - 1.0) / kFullMean;
}

TEST(ChokeInput, MeanIsTwoOverPiOfThePeak) {
  const ChokeFigures found = through_engine({10.0, 8e-6, 5e3});
  EXPECT_TRUE(agrees(500.0 * found.mean,
                     Published{318.31, 5e-4, 0.0, "by hand: 2 x 500 V / pi; [TERMAN]"}));
}

// [TERMAN]: R / (6 pi f) = R / 1131 at 60 Hz, first harmonic only. With all harmonics wL/R =
// 0.33067 = R / 1140, so that at R / 1131 the current is just continuous.
TEST(ChokeInput, CriticalReactanceIsAThirdOfTheLoad) {
  EXPECT_TRUE(agrees(critical_reactance(),
                     Published{0.33067, 0.0, 5.1e-6, "computed: all harmonics, infinite C"}));
  EXPECT_TRUE(agrees(critical_reactance(), Published{1.0 / 3.0, 0.01, 0.0, "[TERMAN] R/(6 pi f)"}));
}

TEST(ChokeInput, AtHandbookInductanceTheMeanIsTwoOverPi) {
  const double ohm = 5e3;
  const ChokeFigures found = through_engine({ohm / 1131.0, 2e-3, ohm});
  EXPECT_TRUE(agrees(found.mean, Published{kFullMean, 5e-3, 0.0, "[TERMAN] R/1131 at 60 Hz"}));
  EXPECT_GT(found.lowest_choke_a, 0.0);
  EXPECT_LT(found.lowest_choke_a, 0.02);
}

// The onset is sharp: 3 % either side of the exact figure the current stops or does not.
TEST(ChokeInput, CurrentStopsBelowTheExactFigureOnly) {
  const double ohm = 5e3;
  const double henry = critical_reactance() * ohm / kOmega;
  const ChokeFigures above = through_engine({1.03 * henry, 2e-3, ohm});
  EXPECT_TRUE(agrees(above.mean, Published{kFullMean, 1e-3, 0.0, "by hand: 2/pi"}));
  EXPECT_TRUE(agrees(above.lowest_choke_a,
                     Published{1.0 - 1.0 / 1.03, 0.0, 3e-3, "by hand: 1 - 1/1.03 of the mean"}));
  const ChokeFigures below = through_engine({0.97 * henry, 2e-3, ohm});
  // A current that did not stop would go to 1 - 1/0.97 = -0.031; the snubber draws 0.0035 back.
  EXPECT_NEAR(below.lowest_choke_a, 0.0, 5e-3);
  EXPECT_GT(below.mean, kFullMean);
}

/// Mean output over Vm of the ideal circuit with infinite C and a choke of x = wL/R below critical.
/// The current starts at sin a = v, rises and falls back to zero at b; its mean must be v/R:
/// integral of i over one pulse = pi v / R, with x i(t) = cos a - cos t - v (t - a).
double discontinuous_mean(double x) {
  const auto miss = [x](double v) {
    const double a = std::asin(v);
    const auto i = [&](double t) { return std::cos(a) - std::cos(t) - v * (t - a); };
    double b = kPi - a;  // the crest of the current
    double high = kPi + a;
    for (int k = 0; k < 100; ++k) {
      const double t = 0.5 * (b + high);
      // past pi the rectified sine rises again: |sin| there
      const double past = t > kPi ? 2.0 + 2.0 * std::cos(t) : 0.0;
      (i(t) + past > 0.0 ? b : high) = t;
    }
    const double end = b;
    double sum = 0.0;
    constexpr int kPieces = 20'000;
    for (int k = 0; k < kPieces; ++k) {
      const double t = a + (end - a) * (k + 0.5) / kPieces;
      sum += i(t) + (t > kPi ? 2.0 + 2.0 * std::cos(t) : 0.0);
    }
    return sum * (end - a) / kPieces / x - kPi * v;
  };
  double low = kFullMean;
  double high = 0.999;
  for (int k = 0; k < 60; ++k) {
    const double v = 0.5 * (low + high);
    (miss(v) > 0.0 ? low : high) = v;
  }
  return low;
}

// Below critical the volts climb towards the peak.
TEST(ChokeInput, MeanRisesBelowCritical) {
  const double ohm = 5e3;
  double before = kFullMean;
  for (const double share : {0.8, 0.5, 0.25, 0.1}) {
    const double x = share * critical_reactance();
    const ChokeFigures found = through_engine({x * ohm / kOmega, 2e-3, ohm});
    EXPECT_GT(found.mean, before * 1.005) << share;
    EXPECT_TRUE(agrees(found.mean, Published{discontinuous_mean(x), 2e-3, 0.0,
                                             "computed: one pulse in closed form, infinite C"}));
    before = found.mean;
  }
}

// 10 H, 8 uF, 5 kohm: the series gives the exact ripple; (sqrt2/3)/(4 w^2 L C) = 1.037 % is the
// same without the last term of (4 w^2 L C - 1), 4 w^2 L C = 45.48.
TEST(ChokeInput, OneSectionHasTheRippleOfItsSeries) {
  const ChokeFilter filter{10.0, 8e-6, 5e3};
  const ChokeFigures found = through_engine(filter);
  EXPECT_TRUE(agrees(found.ripple_share,
                     Published{ripple_by_series(filter), 2e-3, 0.0, "by hand: Fourier series"}));
  EXPECT_TRUE(agrees(100.0 * found.ripple_share,
                     Published{1.037 / (1.0 - 1.0 / 45.48), 1e-3, 0.0,
                               "[TERMAN] (sqrt2/3)/(4 w^2 L C) = 1.037 percent, with the -1"}));
  EXPECT_TRUE(agrees(500.0 * found.swing, Published{9.64, 5e-3, 0.0, "computed with [NGSPICE]"}));
}

// [ARRL-HB] 118 / (LC - 1) percent is the PEAK of the ripple over dc, as (2/3)/(4 w^2) = 117.3
// shows.
TEST(ChokeInput, HandbookRippleIsThePeak) {
  for (const ChokeFilter& filter : {ChokeFilter{10.0, 8e-6, 5e3}, ChokeFilter{5.0, 16e-6, 3e3}}) {
    const double lc = filter.henry * filter.farad * 1e6;
    EXPECT_TRUE(agrees(100.0 * std::numbers::sqrt2 * through_engine(filter).ripple_share,
                       Published{118.0 / (lc - 1.0), 0.01, 0.0, "[ARRL-HB] 118/(LC-1) percent"}));
  }
}

// R / (3 sqrt2 w L) for R << 2 w L; the higher harmonics it leaves out add half a percent.
TEST(ChokeInput, ChokeAloneHasItsRippleFactor) {
  const ChokeFilter filter{10.0, 0.0, 200.0};
  const ChokeFigures found = through_engine(filter);
  EXPECT_TRUE(agrees(found.ripple_share,
                     Published{ripple_by_series(filter), 2e-3, 0.0, "by hand: Fourier series"}));
  EXPECT_TRUE(agrees(found.ripple_share,
                     Published{filter.ohm / (3.0 * std::numbers::sqrt2 * kOmega * filter.henry),
                               0.01, 0.0, "[TERMAN] choke input ripple factor"}));
}

// With a choke that holds its current, each half of a centre-tapped winding carries the whole of
// it half of the time: 1/sqrt2. A bridge winding carries it always: 1.
TEST(ChokeInput, WindingCarriesASquareWave) {
  const ChokeFilter filter{200.0, 8e-6, 5e3};
  EXPECT_TRUE(agrees(through_engine(filter).winding_rms_over,
                     Published{1.0 / std::numbers::sqrt2, 2e-3, 0.0, "by hand: 1/sqrt 2"}));
  EXPECT_TRUE(agrees(through_engine(filter, bridge_source()).winding_rms_over,
                     Published{1.0, 2e-3, 0.0, "by hand: 1"}));
}

}  // namespace
}  // namespace firstglow::published
