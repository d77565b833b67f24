#include "netlists/coil_text.hpp"

#include <fmt/format.h>

namespace firstglow::netlists {
namespace {

std::string flux_of(ElementIndex index) { return fmt::format("v(x{})", index); }

/// ln(1 + exp u), written so that exp() never sees a positive argument.
std::string softplus(const std::string& u) {
  return fmt::format("max({0},0)+ln(1+exp(0-abs({0})))", u);
}

/// The current source, and the integrator that makes the flux of the volts across.
SpiceLines with_flux(ElementIndex index, DeckNode a, DeckNode b, const std::string& amps,
                     double start_vs) {
  return {fmt::format("b{} {} {} i={}", index, spice_node(a), spice_node(b), amps),
          fmt::format("b{}f 0 x{} i={}", index, index, spice_volts_between(a, b)),
          fmt::format("c{} x{} 0 1 ic={}", index, index, spice_number(start_vs))};
}

}  // namespace

SpiceLines coil_lines(ElementIndex index, const SaturatingCoilElement& coil) {
  const std::string flux = flux_of(index);
  const std::string knee = spice_number(coil.knee_vs);
  const std::string width = spice_number(coil.width_vs);
  const double extra = (1.0 / coil.air_h - 1.0 / coil.unsaturated_h) * coil.width_vs;
  const std::string amps =
      fmt::format("{}/{}+{}*({}-({}))", flux, spice_number(coil.unsaturated_h), spice_number(extra),
                  softplus(fmt::format("(({}-{})/{})", flux, knee, width)),
                  softplus(fmt::format("((0-{}-{})/{})", flux, knee, width)));
  return with_flux(index, coil.a, coil.b, amps, coil.start_vs);
}

SpiceLines coil_lines(ElementIndex index, const SinhCoilElement& coil) {
  const std::string amps =
      fmt::format("{}*sinh(min(max({}/{},-30),30))", spice_number(coil.scale_a), flux_of(index),
                  spice_number(coil.scale_vs));
  return with_flux(index, coil.a, coil.b, amps, coil.start_vs);
}

SpiceLines ntc_lines(ElementIndex index, const NtcElement& ntc) {
  const std::string v = spice_volts_between(ntc.a, ntc.b);
  const std::string ohm = fmt::format("({}*exp({}*(1/min(max(v(x{}),200),1500)-1/298.15)))",
                                      spice_number(ntc.cold_ohm), spice_number(ntc.beta_k), index);
  return {fmt::format("b{} {} {} i={}/{}", index, spice_node(ntc.a), spice_node(ntc.b), v, ohm),
          fmt::format("b{}h 0 x{} i={}*{}/{}-{}*(v(x{})-298.15)", index, index, v, v, ohm,
                      spice_number(ntc.w_per_k), index),
          fmt::format("c{} x{} 0 {} ic={}", index, index, spice_number(ntc.heat_j_per_k),
                      spice_number(ntc.start_k))};
}

}  // namespace firstglow::netlists
