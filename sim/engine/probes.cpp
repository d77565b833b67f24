#include "sim/engine/probes.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "netlists/coils.hpp"
#include "netlists/spice_text.hpp"
#include "netlists/tube_current.hpp"

namespace firstglow::sim {
namespace {

using netlists::Deck;
using netlists::DeckNode;
using netlists::ElementIndex;
using netlists::spice_element;
using netlists::spice_inner_node;
using netlists::spice_node;

std::string branch(const Deck& deck, ElementIndex element) {
  return spice_element(deck, element) + "#branch";
}

/// Names of the vectors an element's current is computed from.
struct CurrentVectors {
  const Deck& deck;
  ElementIndex index;
  using Names = std::vector<std::string>;

  static Names ends(DeckNode a, DeckNode b) { return {spice_node(a), spice_node(b)}; }
  Names operator()(const netlists::ResistorElement& e) const { return ends(e.a, e.b); }
  Names operator()(const netlists::CurrentSinkElement& e) const { return ends(e.a, e.b); }
  Names operator()(const netlists::VacuumDiodeElement& e) const { return ends(e.anode, e.cathode); }
  Names operator()(const netlists::CapacitorElement& /*e*/) const {
    return {"@" + spice_element(deck, index) + "[i]"};
  }
  Names operator()(const netlists::DiodeElement& e) const {
    return {spice_inner_node(deck, index), spice_node(e.cathode)};
  }
  Names operator()(const netlists::CurrentMirrorElement& e) const {
    return {branch(deck, e.sense)};
  }
  Names operator()(const netlists::ThermalResistorElement& e) const {
    return {spice_node(e.a), spice_node(e.b), spice_inner_node(deck, index)};
  }
  Names operator()(const netlists::NtcElement& e) const {
    return {spice_node(e.a), spice_node(e.b), spice_inner_node(deck, index)};
  }
  Names operator()(const netlists::SaturatingCoilElement& /*e*/) const {
    return {spice_inner_node(deck, index)};
  }
  Names operator()(const netlists::SinhCoilElement& /*e*/) const {
    return {spice_inner_node(deck, index)};
  }
  Names operator()(const netlists::SpaceCurrentElement& e) const {
    return {spice_node(e.a), spice_node(e.b), spice_node(e.grid), spice_node(e.control),
            spice_node(e.plate)};
  }
  Names operator()(const netlists::GridDriveElement& e) const { return ends(e.a, e.b); }
  Names operator()(const netlists::WindingElement& e) const {
    return {spice_node(e.a), spice_node(e.b), spice_node(e.core)};
  }
  template <class BranchElement>  // inductor, sine, DC source, follower
  Names operator()(const BranchElement& /*e*/) const {
    return {branch(deck, index)};
  }
};

}  // namespace

/// Computes an element's current a -> b at every point.
struct CurrentReader {
  const Probes& probes;
  const Probes::Columns& columns;
  ElementIndex index;
  using Column = std::vector<double>;

  [[nodiscard]] Column volts(DeckNode a, DeckNode b) const {
    return probes.difference(columns, spice_node(a), spice_node(b));
  }
  /// The same, for two nodes that may be one.
  [[nodiscard]] Column against(DeckNode a, DeckNode b) const {
    return a == b ? Column(columns.front().size(), 0.0) : volts(a, b);
  }
  static Column scaled(Column values, double factor) {
    for (double& value : values) {
      value *= factor;
    }
    return values;
  }
  Column operator()(const netlists::ResistorElement& e) const {
    return scaled(volts(e.a, e.b), 1.0 / e.ohm);
  }
  Column operator()(const netlists::CapacitorElement& /*e*/) const {
    return probes.column(columns, "@" + spice_element(probes.deck_, index) + "[i]");
  }
  Column operator()(const netlists::DiodeElement& e) const {
    return scaled(
        probes.difference(columns, spice_inner_node(probes.deck_, index), spice_node(e.cathode)),
        1.0 / e.series_ohm);
  }
  Column operator()(const netlists::VacuumDiodeElement& e) const {
    Column amps = volts(e.anode, e.cathode);
    for (double& value : amps) {
      value = e.perveance * std::pow(std::max(value, 0.0), 1.5);
    }
    return amps;
  }
  Column operator()(const netlists::CurrentMirrorElement& e) const {
    return scaled(probes.column(columns, branch(probes.deck_, e.sense)), e.gain);
  }
  Column operator()(const netlists::CurrentSinkElement& e) const {
    Column amps = volts(e.a, e.b);
    for (double& value : amps) {
      value *= e.amps / std::sqrt(value * value + e.knee_v * e.knee_v);
    }
    return amps;
  }
  Column operator()(const netlists::ThermalResistorElement& e) const {
    Column amps = volts(e.a, e.b);
    const Column& kelvin = probes.column(columns, spice_inner_node(probes.deck_, index));
    for (std::size_t i = 0; i < amps.size(); ++i) {
      amps[i] /= e.cold_ohm * std::pow(std::clamp(kelvin[i], 150.0, 20000.0) / 300.0, e.exponent);
    }
    return amps;
  }
  Column operator()(const netlists::NtcElement& e) const {
    Column amps = volts(e.a, e.b);
    const Column& kelvin = probes.column(columns, spice_inner_node(probes.deck_, index));
    for (std::size_t i = 0; i < amps.size(); ++i) {
      const double held_k = std::clamp(kelvin[i], 200.0, 1500.0);
      amps[i] /= e.cold_ohm * std::exp(e.beta_k * (1.0 / held_k - 1.0 / 298.15));
    }
    return amps;
  }
  template <class Coil>
  [[nodiscard]] Column of_flux(const Coil& coil) const {
    Column amps = probes.column(columns, spice_inner_node(probes.deck_, index));
    for (double& value : amps) {
      value = netlists::coil_amps(coil, value);
    }
    return amps;
  }
  Column operator()(const netlists::SaturatingCoilElement& e) const { return of_flux(e); }
  Column operator()(const netlists::SinhCoilElement& e) const { return of_flux(e); }
  Column operator()(const netlists::SpaceCurrentElement& e) const {
    Column amps = volts(e.a, e.b);
    const Column grid = against(e.grid, e.b);
    const Column control = against(e.control, e.b);
    const Column plate = against(e.plate, e.b);
    for (std::size_t i = 0; i < amps.size(); ++i) {
      amps[i] = netlists::current_a(e, {amps[i], grid[i], control[i], plate[i]});
    }
    return amps;
  }
  Column operator()(const netlists::GridDriveElement& e) const {
    Column amps = volts(e.a, e.b);
    for (double& value : amps) {
      value = netlists::current_a(e, value);
    }
    return amps;
  }
  Column operator()(const netlists::WindingElement& e) const {
    Column amps = volts(e.a, e.b);
    const Column core = e.core == 0 ? Column(amps.size(), 0.0) : volts(e.core, 0);
    for (std::size_t i = 0; i < amps.size(); ++i) {
      amps[i] = (amps[i] - e.ratio * core[i]) / e.ohm;
    }
    return amps;
  }
  template <class BranchElement>
  Column operator()(const BranchElement& /*e*/) const {
    return probes.column(columns, branch(probes.deck_, index));
  }
};

void Probes::want(const std::string& name) {
  if (name != "0" && std::find(names_.begin(), names_.end(), name) == names_.end()) {
    names_.push_back(name);
  }
}

void Probes::want_node(DeckNode node) { want(spice_node(node)); }

void Probes::want_current(ElementIndex element) {
  for (const std::string& name : std::visit(CurrentVectors{deck_, element}, data(element))) {
    want(name);
  }
}

void Probes::want_state(ElementIndex element) {
  if (const auto* capacitor = std::get_if<netlists::CapacitorElement>(&data(element))) {
    want_node(capacitor->a);
    want_node(capacitor->b);
  } else if (std::holds_alternative<netlists::InductorElement>(data(element))) {
    want(branch(deck_, element));
  } else {
    want(spice_inner_node(deck_, element));
  }
}

std::vector<double> Probes::volts(const Columns& columns, DeckNode a, DeckNode b) const {
  return difference(columns, spice_node(a), spice_node(b));
}

std::vector<double> Probes::current_a(const Columns& columns, ElementIndex element) const {
  return std::visit(CurrentReader{*this, columns, element}, data(element));
}

double Probes::final_state(const Columns& columns, ElementIndex element) const {
  const auto last = [&](const std::string& name) {
    return name == "0" ? 0.0 : column(columns, name).back();
  };
  if (const auto* capacitor = std::get_if<netlists::CapacitorElement>(&data(element))) {
    return last(spice_node(capacitor->a)) - last(spice_node(capacitor->b));
  }
  if (std::holds_alternative<netlists::InductorElement>(data(element))) {
    return last(branch(deck_, element));
  }
  return last(spice_inner_node(deck_, element));
}

const std::vector<double>& Probes::column(const Columns& columns, const std::string& name) const {
  const auto found = std::find(names_.begin(), names_.end(), name);
  FIRSTGLOW_REQUIRE(found != names_.end() && columns.size() == names_.size(),
                    "a probe reads only vectors it asked for");
  return columns[static_cast<std::size_t>(found - names_.begin())];
}

const netlists::ElementData& Probes::data(ElementIndex element) const {
  FIRSTGLOW_REQUIRE(element >= 0 && element < static_cast<int>(deck_.elements.size()),
                    "a probed element belongs to the deck");
  return deck_.elements[static_cast<std::size_t>(element)].data;
}

std::vector<double> Probes::difference(const Columns& columns, const std::string& a,
                                       const std::string& b) const {
  std::vector<double> volts =
      a == "0" ? std::vector<double>(column(columns, b).size(), 0.0) : column(columns, a);
  if (b != "0") {
    const std::vector<double>& minus = column(columns, b);
    for (std::size_t i = 0; i < volts.size(); ++i) {
      volts[i] -= minus[i];
    }
  }
  return volts;
}

}  // namespace firstglow::sim
