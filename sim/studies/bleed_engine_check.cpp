#include "sim/studies/bleed_engine_check.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "netlists/deck_builder.hpp"
#include "sim/engine/run_failure.hpp"

namespace firstglow::sim {
namespace {

/// Leakage lies across a capacitor and may vanish; a tie must leave the solver a pivot.
constexpr double kNoLeakageOhm = 1e15;
constexpr double kNoTieOhm = 1e12;
constexpr int kSteps = 2000;
constexpr double kLeastStartVolts = 1.0;

netlists::CapacitorElement& capacitor_at(netlists::Deck& deck, netlists::ElementIndex index) {
  return std::get<netlists::CapacitorElement>(deck.elements[static_cast<std::size_t>(index)].data);
}

/// Capacitor elements that belong to capacitors of the rig.
std::vector<netlists::ElementIndex> capacitor_elements(const netlists::Deck& deck) {
  std::vector<netlists::ElementIndex> found;
  for (const netlists::ElementIndex index : netlists::state_elements(deck)) {
    const netlists::Element& element = deck.elements[static_cast<std::size_t>(index)];
    if (element.part >= 0 && std::holds_alternative<netlists::CapacitorElement>(element.data)) {
      found.push_back(index);
    }
  }
  return found;
}

/// Ties that would empty a capacitor; those of an unplugged primary may stay.
std::vector<netlists::ElementIndex> ties_of_charges(const netlists::BuiltDeck& built) {
  const LinearNetwork network = linear_network(built);
  const std::vector<int> island = islands_of(network, true, true);
  std::set<int> charged;
  for (const LinearBranch& capacitor : network.capacitors) {
    charged.insert(island[static_cast<std::size_t>(capacitor.a)]);
  }
  std::vector<netlists::ElementIndex> ties;
  for (const netlists::ElementIndex index : built.ties) {
    const auto& data = built.deck.elements[static_cast<std::size_t>(index)].data;
    const int node =
        network.node_of[static_cast<std::size_t>(std::get<netlists::ResistorElement>(data).a)];
    if (node >= 0 && charged.contains(island[static_cast<std::size_t>(node)])) {
      ties.push_back(index);
    }
  }
  return ties;
}

netlists::BuiltDeck charged_deck(const core::Rig& rig, const netlists::Situation& situation,
                                 const ChargeMoment& start_v) {
  netlists::BuiltDeck built = netlists::build_deck(rig, situation);
  const auto raise = [&](netlists::ElementIndex index, double ohm) {
    auto& data = built.deck.elements[static_cast<std::size_t>(index)].data;
    std::get<netlists::ResistorElement>(data).ohm = ohm;
  };
  for (const netlists::ElementIndex index : built.leakages) {
    raise(index, kNoLeakageOhm);
  }
  for (const netlists::ElementIndex index : ties_of_charges(built)) {
    raise(index, kNoTieOhm);
  }
  for (const netlists::ElementIndex index : capacitor_elements(built.deck)) {
    const auto start = start_v.find(built.deck.elements[static_cast<std::size_t>(index)].part);
    capacitor_at(built.deck, index).start_v = start == start_v.end() ? 0.0 : start->second;
  }
  return built;
}

std::optional<std::size_t> state_of_part(const LinearNetwork& network, int part) {
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    if (network.capacitors[k].part == part) {
      return k;
    }
  }
  return std::nullopt;
}

LinearDischarge::Course exact_course(const LinearNetwork& network, const ChargeMoment& start_v) {
  std::vector<double> start(network.capacitors.size() + network.inductors.size(), 0.0);
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    const auto found = start_v.find(network.capacitors[k].part);
    start[k] = found == start_v.end() ? 0.0 : found->second;
  }
  return LinearDischarge(network).from(start);
}

Waveforms run_to(Engine& engine, const core::Rig& rig, const netlists::Deck& deck, double stop_s) {
  RunSpec spec;
  spec.stop_s = stop_s;
  spec.max_step_s = stop_s / kSteps;
  for (netlists::DeckNode node = 0; node < deck.node_count; ++node) {
    spec.nodes.push_back(node);
  }
  try {
    return engine.run(deck, spec);
  } catch (const core::SimulationError& error) {
    throw with_part_names(
        error, [&](int part) { return rig.parts.at(static_cast<std::size_t>(part)).designator; });
  }
}

}  // namespace

double engine_deviation(Engine& engine, const core::Rig& rig, const netlists::Situation& situation,
                        const ChargeMoment& start_v, double stop_s, const BleedModel* bound) {
  netlists::BuiltDeck built = charged_deck(rig, situation, start_v);
  const Waveforms waves = run_to(engine, rig, built.deck, stop_s);
  const LinearNetwork network = linear_network(built);
  const auto exact = bound != nullptr ? bound->course : exact_course(network, start_v);
  double largest = 0.0;
  for (const netlists::ElementIndex index : capacitor_elements(built.deck)) {
    const netlists::CapacitorElement& capacitor = capacitor_at(built.deck, index);
    const auto state =
        state_of_part(network, built.deck.elements[static_cast<std::size_t>(index)].part);
    if (!state || std::abs(capacitor.start_v) < kLeastStartVolts) {
      continue;
    }
    const auto& a = waves.node_v[static_cast<std::size_t>(capacitor.a)];
    const auto& b = waves.node_v[static_cast<std::size_t>(capacitor.b)];
    for (std::size_t i = 0; i < waves.time_s.size(); ++i) {
      const double exact_v = exact.state_at(*state, waves.time_s[i]);
      const double engine_v = a[i] - b[i];
      const double off_v =
          bound != nullptr ? std::abs(engine_v) - exact_v : std::abs(engine_v - exact_v);
      largest = std::max(largest, off_v / std::abs(capacitor.start_v));
    }
  }
  return largest;
}

}  // namespace firstglow::sim
