#include "sim/studies/bleed_engine_check.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "netlists/deck_builder.hpp"
#include "sim/engine/run_failure.hpp"
#include "sim/studies/diode_discharge.hpp"
#include "sim/studies/discharge_matrix.hpp"

namespace firstglow::sim {
namespace {

/// Leakage lies across a capacitor and may vanish; a tie must leave the solver a pivot.
constexpr double kNoLeakageOhm = 1e15;
constexpr double kNoTieOhm = 1e12;
constexpr double kSteps = 500.0;  ///< of a run in which nothing swings
constexpr double kMostSteps = 4000.0;
constexpr double kFineSwing = 100.0;  ///< steps of a swing that is looked at
constexpr double kSwing = 32.0;       ///< of one whose end is waited for
constexpr double kLeastStartVolts = 1.0;
/// The engine runs anew to ten times as far, with steps ten times as long, and each run is looked
/// at from the end of the one before: its first step is of low order, and swings of a choke need
/// fine steps early on.
constexpr double kFirstWindowSeconds = 1e-3;
constexpr double kWindowRatio = 10.0;

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

/// Gives the deck the series resistors that the exact solution works with.
void raise_series(netlists::BuiltDeck& built) {
  const LinearNetwork as_built = linear_network(built);
  LinearNetwork raised = as_built;
  raise_series_resistors(raised);
  for (std::size_t i = 0; i < raised.resistors.size(); ++i) {
    const LinearBranch& before = as_built.resistors[i];
    for (netlists::Element& element : built.deck.elements) {
      auto* resistor = std::get_if<netlists::ResistorElement>(&element.data);
      if (resistor != nullptr && element.part == before.part && resistor->ohm == before.value) {
        resistor->ohm = raised.resistors[i].value;
      }
    }
  }
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
  raise_series(built);
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

std::vector<double> states_of(const LinearNetwork& network, const ChargeMoment& start_v) {
  std::vector<double> start(network.capacitors.size() + network.inductors.size(), 0.0);
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    const auto found = start_v.find(network.capacitors[k].part);
    start[k] = found == start_v.end() ? 0.0 : found->second;
  }
  return start;
}

/// How the chokes swing on the way; a step is a 16th of a swing.
WalkGrid swings_of(const LinearNetwork& network, const ChargeMoment& start_v) {
  DiodeDischarge discharge(network);
  static_cast<void>(discharge.walk(states_of(network, start_v)));
  return discharge.grid_of_swings();
}

/// The exact course, with the rectifiers conducting where they do.
class ExactCourse {
 public:
  ExactCourse(const LinearNetwork& network, const ChargeMoment& start_v) {
    const std::vector<double> start = states_of(network, start_v);
    course_ = LinearDischarge(network).from(start);
    if (course_.largest_forward_v() > DiodeDischarge::kTurnOnVolts) {
      walk_ = DiodeDischarge(network).walk(start);
    }
  }
  [[nodiscard]] double state_at(std::size_t state, double time_s) const {
    return walk_ ? walk_->state_at(state, time_s) : course_.state_at(state, time_s);
  }

 private:
  LinearDischarge::Course course_;
  std::optional<DiodeWalk> walk_;
};

Waveforms run_to(Engine& engine, const core::Rig& rig, const netlists::Deck& deck, double stop_s,
                 double step_s) {
  RunSpec spec;
  spec.stop_s = stop_s;
  spec.max_step_s = step_s;
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

/// Of one run, from a time on.
EngineDeviation deviation_in(const netlists::BuiltDeck& built, const Waveforms& waves,
                             const ExactCourse& exact, double from_s) {
  const LinearNetwork network = linear_network(built);
  EngineDeviation largest;
  for (const netlists::ElementIndex index : capacitor_elements(built.deck)) {
    const netlists::Element& element = built.deck.elements[static_cast<std::size_t>(index)];
    const auto& capacitor = std::get<netlists::CapacitorElement>(element.data);
    const auto state = state_of_part(network, element.part);
    if (!state || std::abs(capacitor.start_v) < kLeastStartVolts) {
      continue;
    }
    const auto& a = waves.node_v[static_cast<std::size_t>(capacitor.a)];
    const auto& b = waves.node_v[static_cast<std::size_t>(capacitor.b)];
    for (std::size_t i = 0; i < waves.time_s.size(); ++i) {
      if (waves.time_s[i] < from_s) {
        continue;
      }
      const double off_v = std::abs(a[i] - b[i] - exact.state_at(*state, waves.time_s[i]));
      const double share = off_v / std::abs(capacitor.start_v);
      if (share > largest.share) {
        largest = EngineDeviation{share, element.part, waves.time_s[i]};
      }
    }
  }
  return largest;
}

/// Puts into `times` when each capacitor was last above its limit, as the point after it; empty
/// when it is at the end. Earlier times are kept where it never is.
void note_times(const netlists::Deck& deck, const Waveforms& waves,
                const std::map<int, double>& limit_v, double from_s,
                std::map<int, std::optional<double>>& times) {
  for (const netlists::ElementIndex index : capacitor_elements(deck)) {
    const auto& element = deck.elements[static_cast<std::size_t>(index)];
    const auto& capacitor = std::get<netlists::CapacitorElement>(element.data);
    const auto limit = limit_v.find(element.part);
    if (limit == limit_v.end()) {
      continue;
    }
    std::optional<double>& last_s = times.try_emplace(element.part, 0.0).first->second;
    const auto& a = waves.node_v[static_cast<std::size_t>(capacitor.a)];
    const auto& b = waves.node_v[static_cast<std::size_t>(capacitor.b)];
    for (std::size_t i = waves.time_s.size(); i-- > 0;) {
      if (std::abs(a[i] - b[i]) > limit->second) {
        last_s = i + 1 == waves.time_s.size() ? std::nullopt
                                              : std::optional(from_s + waves.time_s[i + 1]);
        break;
      }
    }
  }
}

}  // namespace

EngineDeviation engine_deviation(Engine& engine, const core::Rig& rig,
                                 const netlists::Situation& situation, const ChargeMoment& start_v,
                                 double stop_s) {
  const netlists::BuiltDeck built = charged_deck(rig, situation, start_v);
  const ExactCourse exact(linear_network(built), start_v);
  const WalkGrid swings = swings_of(linear_network(built), start_v);
  EngineDeviation largest;
  double from_s = 0.0;
  for (double to_s = kFirstWindowSeconds; from_s < stop_s; to_s *= kWindowRatio) {
    to_s = std::min(to_s, stop_s);
    const double swing_s = kStepsPerSwing * swings.swing_step_s;
    double step_s = to_s / kSteps;
    if (from_s < swings.swing_until_s) {
      step_s = std::max(std::min(step_s, swing_s / kFineSwing), to_s / kMostSteps);
    }
    const Waveforms waves = run_to(engine, rig, built.deck, to_s, step_s);
    const EngineDeviation found = deviation_in(built, waves, exact, from_s);
    largest = found.share > largest.share ? found : largest;
    from_s = to_s;
  }
  return largest;
}

std::map<int, std::optional<double>> engine_times(Engine& engine, const core::Rig& rig,
                                                  const netlists::Situation& situation,
                                                  const ChargeMoment& start_v, double stop_s,
                                                  const std::map<int, double>& limit_v) {
  netlists::BuiltDeck built = charged_deck(rig, situation, start_v);
  const WalkGrid swings = swings_of(linear_network(built), start_v);
  const double swing_s = kStepsPerSwing * swings.swing_step_s;
  const double settled_s = std::min(stop_s, swings.swing_until_s);
  std::map<int, std::optional<double>> times;
  if (settled_s > 0.0) {
    const double step_s = std::clamp(swing_s / kSwing, settled_s / kMostSteps, settled_s / kSteps);
    const Waveforms waves = run_to(engine, rig, built.deck, settled_s, step_s);
    note_times(built.deck, waves, limit_v, 0.0, times);
    netlists::set_start_state(built.deck, waves.final_state);
  }
  if (settled_s < stop_s) {
    const double rest_s = stop_s - settled_s;
    const Waveforms waves = run_to(engine, rig, built.deck, rest_s, rest_s / kSteps);
    note_times(built.deck, waves, limit_v, settled_s, times);
  }
  return times;
}

}  // namespace firstglow::sim
