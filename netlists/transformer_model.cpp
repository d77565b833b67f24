#include "netlists/transformer_model.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/error.hpp"
#include "netlists/coils.hpp"

namespace firstglow::netlists {
namespace {

// A reading with no reactive part at all would mean an infinite inductance; this share of the
// apparent power is taken instead, which moves the no-load current by less than 1 in 10^6.
constexpr double kLeastReactiveShare = 1e-3;

struct Readings {
  double volts, ohm, amps, watts;
};

Readings readings_of(const core::PowerTransformer& transformer) {
  Readings r{};
  for (const core::RmsVolts volts : transformer.primary.section_volts) {
    r.volts += volts.si();
  }
  for (const core::Ohms ohms : transformer.primary.section_ohms) {
    r.ohm += ohms.si();
  }
  r.amps = transformer.no_load_current.value_or(core::Amps()).si();
  r.watts = transformer.no_load_watts.value_or(core::Watts()).si();
  return r;
}

bool possible(const Readings& r) {
  return r.volts > 0.0 && r.amps > 0.0 && r.watts <= r.volts * r.amps &&
         r.watts > r.amps * r.amps * r.ohm;
}

// Defaults of the core: reasons at saturating_core().
constexpr double kUsualKnee = 1.2;         ///< over the rated flux
constexpr double kLowestKnee = 0.8;        ///< over the rated flux, when fitted
constexpr double kHighestKnee = 3.0;       ///< over the rated flux, when fitted
constexpr double kWidthShare = 0.025;      ///< of the knee
constexpr double kAirReactance = 0.05;     ///< of the rated impedance
constexpr double kMagnetisingShare = 0.1;  ///< of the rated current, when only that is known
constexpr double kCopperKelvin = 234.5;    ///< [IEC-61558-1]
constexpr double kColdCelsius = 20.0;

double readings_hertz(const core::PowerTransformer& transformer, core::Hertz frequency) {
  return transformer.no_load_frequency.value_or(frequency).si();
}

/// Rated primary amps: marked, or from the secondaries' marks, or ten times the no-load amps.
double rated_amps(const core::PowerTransformer& transformer, const Readings& r) {
  if (transformer.primary.rated_current) {
    return transformer.primary.rated_current->si();
  }
  double sum_va = 0.0;
  for (const core::Winding& winding : transformer.secondaries) {
    if (!winding.rated_current) {
      return r.amps / kMagnetisingShare;
    }
    for (const core::RmsVolts volts : winding.section_volts) {
      sum_va += volts.si() * winding.rated_current->si();
    }
  }
  return sum_va / r.volts;
}

/// `core` with the slope that gives `amps_rms` on a sine of `peak_vs`; false when even no slope
/// gives more, because the knee lies too low.
bool set_slope(SaturatingCore& core, double peak_vs, double amps_rms) {
  double low = 0.0;
  double high = std::sqrt(2.0) * amps_rms / peak_vs;
  core.unsaturated_h = 1e9;
  if (core.magnetising_rms_a(peak_vs) > amps_rms) {
    return false;
  }
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    core.unsaturated_h = 1.0 / middle;
    (core.magnetising_rms_a(peak_vs) < amps_rms ? low : high) = middle;
  }
  return true;
}

/// Places the knee so that the second reading comes out. A reading beyond what any knee gives
/// ends at the lowest knee, which is the dangerous side.
void fit_knee(SaturatingCore& core, double first_amps, double second_vs, double second_amps) {
  const auto place = [&](double share) {
    core.knee_vs = share * core.rated_flux_vs;
    core.width_vs = kWidthShare * core.knee_vs;
    return set_slope(core, core.rated_flux_vs, first_amps);
  };
  double low = kLowestKnee;
  double high = kHighestKnee;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    const bool too_low = !place(middle) || core.magnetising_rms_a(second_vs) > second_amps;
    (too_low ? low : high) = middle;
  }
  place(high);
}

}  // namespace

double SaturatingCore::magnetising_rms_a(double peak_flux_vs) const {
  constexpr int kPoints = 400;  // over a quarter cycle; the other three repeat it
  const SaturatingCoilElement coil{0, 1, unsaturated_h, air_h, knee_vs, width_vs, 0.0};
  double sum = 0.0;
  for (int i = 0; i < kPoints; ++i) {
    const double amps =
        coil_amps(coil, peak_flux_vs * std::sin(0.5 * std::numbers::pi * (i + 0.5) / kPoints));
    sum += amps * amps;
  }
  return std::sqrt(sum / kPoints);
}

double copper_factor(double rise_k) { return 1.0 + rise_k / (kCopperKelvin + kColdCelsius); }

SaturatingCore saturating_core(const core::PowerTransformer& transformer, core::Hertz frequency) {
  const TransformerCore linear = transformer_core(transformer, frequency);
  const Readings r = readings_of(transformer);
  const double omega = 2.0 * std::numbers::pi * readings_hertz(transformer, frequency);
  SaturatingCore core;
  core.rated_flux_vs = std::sqrt(2.0) * linear.emf_v / omega;
  core.air_h = std::min(kAirReactance * r.volts / (rated_amps(transformer, r) * omega),
                        0.5 * linear.magnetising_h);
  core.unsaturated_h = linear.magnetising_h;
  core.knee_vs = kUsualKnee * core.rated_flux_vs;
  core.width_vs = kWidthShare * core.knee_vs;
  if (transformer.second_no_load_volts && transformer.second_no_load_current) {
    const double share = transformer.second_no_load_volts->si() / r.volts;
    const double loss_a = share * linear.emf_v / linear.loss_ohm;
    const double total_a = transformer.second_no_load_current->si();
    const double second_a = std::sqrt(std::max(total_a * total_a - loss_a * loss_a, 1e-12));
    fit_knee(core, linear.emf_v / (omega * linear.magnetising_h), share * core.rated_flux_vs,
             second_a);
    core.knee_measured = true;
  }
  return core;
}

bool no_load_possible(const core::PowerTransformer& transformer) {
  return transformer.no_load_current && transformer.no_load_watts &&
         possible(readings_of(transformer));
}

TransformerCore transformer_core(const core::PowerTransformer& transformer, core::Hertz frequency) {
  FIRSTGLOW_REQUIRE(transformer.no_load_current && transformer.no_load_watts,
                    "the reader gives each transformer no-load amps and watts");
  FIRSTGLOW_REQUIRE(frequency.is_finite() && frequency.si() > 0.0, "the mains has a frequency");
  const Readings r = readings_of(transformer);
  FIRSTGLOW_REQUIRE(possible(r),
                    "no-load watts lie above the copper loss and not above volts times amps");
  const double apparent_va = r.volts * r.amps;
  const double reactive_va = std::max(kLeastReactiveShare * apparent_va,
                                      std::sqrt(apparent_va * apparent_va - r.watts * r.watts));
  TransformerCore core;
  core.primary_v = r.volts;
  core.primary_ohm = r.ohm;
  core.emf_v = std::hypot(r.volts - r.ohm * r.watts / r.volts, r.ohm * reactive_va / r.volts);
  core.loss_ohm = core.emf_v * core.emf_v / (r.watts - r.amps * r.amps * r.ohm);
  core.magnetising_h =
      core.emf_v * core.emf_v /
      (2.0 * std::numbers::pi * readings_hertz(transformer, frequency) * reactive_va);
  return core;
}

}  // namespace firstglow::netlists
