#include "netlists/transformer_model.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/error.hpp"

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

}  // namespace

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
      core.emf_v * core.emf_v / (2.0 * std::numbers::pi * frequency.si() * reactive_va);
  return core;
}

}  // namespace firstglow::netlists
