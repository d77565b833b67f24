#include "sim/studies/rig_run.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <utility>

#include "core/error.hpp"
#include "netlists/tungsten.hpp"
#include "sim/engine/run_failure.hpp"
#include "sim/envelope/envelope.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/regulator_states.hpp"
#include "sim/studies/warm_resistors.hpp"

namespace firstglow::sim {
namespace {

using netlists::BuiltDeck;
using netlists::Situation;

RunSpec spec_for(const BuiltDeck& built, double period_s, int steps_per_cycle, bool with_currents) {
  RunSpec spec;
  spec.max_step_s = period_s / steps_per_cycle;
  for (netlists::DeckNode node = 0; node < built.deck.node_count; ++node) {
    spec.nodes.push_back(node);
  }
  if (with_currents) {
    for (const netlists::PartCurrent& current : built.currents) {
      spec.currents.push_back(current.element);
    }
    if (built.mains_source >= 0) {
      spec.currents.push_back(built.mains_source);
    }
  }
  return spec;
}

}  // namespace

RigRun::RigRun(BuiltDeck built, Waveforms waves)
    : built_(std::move(built)), waves_(std::move(waves)) {
  if (!waves_.current_a.empty()) {
    std::size_t index = 0;
    for (const netlists::PartCurrent& current : built_.currents) {
      wave_of_element_[current.element] = index++;
    }
    if (built_.mains_source >= 0) {
      wave_of_element_[built_.mains_source] = index;
    }
  }
}

void RigRun::append(const RigRun& later, double offset_s) {
  const auto join = [](std::vector<double>& to, const std::vector<double>& from) {
    to.insert(to.end(), from.begin(), from.end());
  };
  for (const double time_s : later.waves_.time_s) {
    waves_.time_s.push_back(time_s + offset_s);
  }
  for (std::size_t i = 0; i < waves_.node_v.size(); ++i) {
    join(waves_.node_v[i], later.waves_.node_v.at(i));
  }
  for (std::size_t i = 0; i < waves_.current_a.size(); ++i) {
    join(waves_.current_a[i], later.waves_.current_a.at(i));
  }
  waves_.final_state = later.waves_.final_state;
}

const std::vector<double>& RigRun::deck_node_v(netlists::DeckNode node) const {
  const std::vector<double>& volts = waves_.node_v.at(static_cast<std::size_t>(node));
  FIRSTGLOW_REQUIRE(volts.size() == waves_.time_s.size(), "the volts of this node were kept");
  return volts;
}

bool RigRun::has_node(core::NodeIndex node) const {
  return node != core::kOpenNode && built_.node_of.at(static_cast<std::size_t>(node)).has_value();
}

const std::vector<double>& RigRun::node_v(core::NodeIndex node) const {
  FIRSTGLOW_REQUIRE(has_node(node), "a node that is asked for is in the circuit");
  return deck_node_v(*built_.node_of[static_cast<std::size_t>(node)]);
}

std::vector<double> RigRun::volts_between(core::NodeIndex a, core::NodeIndex b) const {
  return difference_of(node_v(a), node_v(b));
}

const std::vector<double>* RigRun::part_a(int part, int section) const {
  const auto element = built_.current_of(part, section);
  if (!element) {
    return nullptr;
  }
  const auto found = wave_of_element_.find(*element);
  return found == wave_of_element_.end() ? nullptr : &waves_.current_a[found->second];
}

std::vector<double> RigRun::mains_a() const {
  const auto found = wave_of_element_.find(built_.mains_source);
  if (found == wave_of_element_.end()) {
    return std::vector<double>(waves_.time_s.size(), 0.0);
  }
  std::vector<double> drawn = waves_.current_a[found->second];
  for (double& amps : drawn) {
    amps = -amps;
  }
  return drawn;
}

std::vector<double> RigRun::mains_v() const {
  return difference_of(deck_node_v(built_.mains_a), deck_node_v(built_.mains_b));
}

std::vector<double> RigRun::variac_v() const {
  return difference_of(deck_node_v(built_.variac_out_a), deck_node_v(built_.variac_out_b));
}

std::optional<double> RigRun::dark_v(int part) const {
  const auto found = dark_v_.find(part);
  return found == dark_v_.end() ? std::nullopt : std::optional(found->second);
}

std::optional<std::vector<double>> RigRun::lamp_v() const {
  if (!built_.lamp) {
    return std::nullopt;
  }
  const auto& data = built_.deck.elements.at(static_cast<std::size_t>(*built_.lamp)).data;
  if (const auto* held = std::get_if<netlists::ResistorElement>(&data)) {
    return difference_of(deck_node_v(held->a), deck_node_v(held->b));
  }
  const auto& moving = std::get<netlists::ThermalResistorElement>(data);
  return difference_of(deck_node_v(moving.a), deck_node_v(moving.b));
}

std::function<std::string(int)> part_names(const core::Rig& rig) {
  return [&rig](int part) { return rig.parts.at(static_cast<std::size_t>(part)).designator; };
}

RunSpec cycle_spec(const BuiltDeck& built, double period_s, int steps_per_cycle) {
  RunSpec spec = spec_for(built, period_s, steps_per_cycle, true);
  spec.stop_s = period_s;
  return spec;
}

RigRun run_cycle(Engine& engine, netlists::BuiltDeck built, double period_s, int steps_per_cycle) {
  Waveforms waves = engine.run(built.deck, cycle_spec(built, period_s, steps_per_cycle));
  return {std::move(built), std::move(waves)};
}

double variac_volts_of(const core::Rig& rig, const Situation& situation) {
  return situation.line.value_or(rig.mains().nominal).si() * situation.variac_setting;
}

namespace {

/// The deck nodes of capacitor terminals.
std::vector<netlists::DeckNode> capacitor_nodes(const core::Rig& rig, const BuiltDeck& built) {
  std::set<netlists::DeckNode> nodes;
  for (const core::Part& part : rig.parts) {
    if (const auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      for (const core::NodeIndex node : {capacitor->plus, capacitor->minus}) {
        if (node != core::kOpenNode && built.node_of[static_cast<std::size_t>(node)]) {
          nodes.insert(*built.node_of[static_cast<std::size_t>(node)]);
        }
      }
    }
  }
  return {nodes.begin(), nodes.end()};
}

/// Waves of every deck node, empty where nobody asked.
void put_in_place(const std::vector<netlists::DeckNode>& asked, int node_count, Waveforms& waves) {
  std::vector<std::vector<double>> all(static_cast<std::size_t>(node_count));
  for (std::size_t i = 0; i < asked.size(); ++i) {
    all[static_cast<std::size_t>(asked[i])] = std::move(waves.node_v[i]);
  }
  waves.node_v = std::move(all);
}

RigRun run_once(Engine& engine, const core::Rig& rig, const Situation& situation,
                const TransientPlan& plan) {
  BuiltDeck built = netlists::build_deck(rig, situation);
  if (!plan.start_state.empty()) {
    netlists::set_start_state(built.deck, plan.start_state);
  }
  const double period_s = 1.0 / rig.mains().frequency.si();
  RunSpec spec = spec_for(built, period_s, plan.steps_per_cycle, plan.with_currents);
  spec.stop_s = plan.stop_s;
  spec.save_from_s = plan.save_from_s;
  if (plan.capacitors_only) {
    spec.nodes = capacitor_nodes(rig, built);
  }
  try {
    Waveforms waves = engine.run(built.deck, spec);
    put_in_place(spec.nodes, built.deck.node_count, waves);
    return RigRun(std::move(built), std::move(waves));
  } catch (const core::SimulationError& error) {
    throw with_part_names(error, part_names(rig));
  }
}

/// When the step start of the circuit is bridged; empty when it has none.
std::optional<double> bridged_at_s(const core::Rig& rig, const Situation& situation) {
  const netlists::BuiltDeck built = netlists::build_deck(rig, situation);
  std::optional<double> last_s;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* step = std::get_if<core::StepStart>(&rig.parts[i].data);
    if (step != nullptr && built.part_in[i]) {
      last_s = std::max(last_s.value_or(0.0), step->delay.si());
    }
  }
  return last_s;
}

}  // namespace

// With several step starts in one circuit all are bridged when the last one is.
RigRun run_transient(Engine& engine, const core::Rig& rig, const Situation& situation,
                     const TransientPlan& plan) {
  if (situation.step_relay != netlists::StepRelay::timed) {
    return run_once(engine, rig, situation, plan);
  }
  Situation phase = situation;
  phase.step_relay = netlists::StepRelay::open;
  const std::optional<double> bridged_s = bridged_at_s(rig, phase);
  if (!bridged_s || *bridged_s >= plan.stop_s) {
    return run_once(engine, rig, phase, plan);
  }
  TransientPlan first = plan;
  first.stop_s = *bridged_s;
  first.save_from_s = std::min(plan.save_from_s, 0.99 * *bridged_s);
  RigRun before = run_once(engine, rig, phase, first);
  phase.step_relay = netlists::StepRelay::closed;
  phase.closing_angle_deg += 360.0 * rig.mains().frequency.si() * *bridged_s;
  TransientPlan second = plan;
  second.stop_s = plan.stop_s - *bridged_s;
  second.save_from_s = std::max(0.0, plan.save_from_s - *bridged_s);
  second.start_state = before.final_state();
  const RigRun after = run_once(engine, rig, phase, second);
  before.append(after, *bridged_s);
  return before;
}

double switch_on_seconds(const core::Rig& rig, double least_s) {
  double seconds = least_s;
  for (const core::Part& part : rig.parts) {
    if (const auto* step = std::get_if<core::StepStart>(&part.data)) {
      seconds = std::max(seconds, step->delay.si() + 0.5 * least_s);
    }
  }
  return seconds;
}

std::vector<double> carried_state(const BuiltDeck& from, const std::vector<double>& state,
                                  const BuiltDeck& to) {
  return carried_state(from.deck, state, to.deck);
}

std::map<std::string, double> held_ohm_of(const SteadyRun& run) {
  std::map<std::string, double> held;
  for (std::size_t i = 0; i < run.warm_names.size(); ++i) {
    held[run.warm_names[i]] = run.point.warm_ohm.at(i);
  }
  return held;
}

}  // namespace firstglow::sim
