#include "netlists/coils.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"

namespace firstglow::netlists {
namespace {

/// Beyond this argument sinh() no longer rises in the deck: only the solver's first guesses go
/// there, a billion times the scale.
constexpr double kLargestSinhArgument = 30.0;

double softplus(double u) { return std::max(u, 0.0) + std::log1p(std::exp(-std::abs(u))); }

}  // namespace

double coil_amps(const SaturatingCoilElement& coil, double flux_vs) {
  const double extra = 1.0 / coil.air_h - 1.0 / coil.unsaturated_h;
  return flux_vs / coil.unsaturated_h + extra * coil.width_vs *
                                            (softplus((flux_vs - coil.knee_vs) / coil.width_vs) -
                                             softplus((-flux_vs - coil.knee_vs) / coil.width_vs));
}

double coil_amps(const SinhCoilElement& coil, double flux_vs) {
  return coil.scale_a * std::sinh(std::clamp(flux_vs / coil.scale_vs, -kLargestSinhArgument,
                                             kLargestSinhArgument));
}

double SwingLaw::henry_at(double amps) const { return scale_vs / std::hypot(scale_a, amps); }

bool swings(const core::Choke& choke) {
  return choke.loaded_inductance.has_value() && choke.loaded_current.has_value();
}

SwingLaw swing_law(const core::Choke& choke, double henry) {
  FIRSTGLOW_REQUIRE(swings(choke), "a swinging choke has a second point");
  const double share = henry / choke.value.nominal().si();
  const double first_h = henry;
  const double first_a = choke.value_current.si();
  const double second_h = choke.loaded_inductance->si() * share;
  const double second_a = choke.loaded_current->si();
  const double first_vs = first_h * first_a;
  const double second_vs = second_h * second_a;
  FIRSTGLOW_REQUIRE(first_h > second_h && second_h > 0.0 && second_vs > first_vs,
                    "the two points of a choke have falling inductance and rising flux");
  SwingLaw law;
  law.scale_a = std::sqrt((second_vs * second_vs - first_vs * first_vs) /
                          (first_h * first_h - second_h * second_h));
  law.scale_vs = first_h * std::hypot(law.scale_a, first_a);
  return law;
}

}  // namespace firstglow::netlists
