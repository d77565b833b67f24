#include "sim/studies/rig_run.hpp"

#include <algorithm>
#include <cmath>
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

/// Two steady states at different volts foretell a third as far away as this many times the step
/// between them.
constexpr double kFarthestLine = 1.5;

constexpr int kCycleSteps = 200;  ///< of a cycle that is read

/// Volts that move by less than this part in a cycle are looked at again: R C of half an hour.
constexpr double kHeldRipple = 1e-5;
constexpr double kLower = 0.9;
constexpr double kHeldVolts = 1.0;
/// How long a switch-on is followed to see what it leaves there, and how far (of the largest state)
/// its second half may still have moved.
constexpr double kHeldSeconds = 4.0;
constexpr double kHeldMove = 0.01;

constexpr std::size_t kLampPlace =
    0;                           ///< of the lamp among the warm resistances, see warm_resistors()
constexpr int kLampRounds = 30;  ///< each halves the error of a guess's logarithm

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

/// Capacitors that hold their volts without the least current, by part index.
std::set<int> unmoved_capacitors(const core::Rig& rig, const RigRun& cycle) {
  std::set<int> unmoved;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* capacitor = std::get_if<core::Capacitor>(&rig.parts[i].data);
    if (capacitor == nullptr || !cycle.has_node(capacitor->plus) ||
        !cycle.has_node(capacitor->minus)) {
      continue;
    }
    const std::vector<double> volts = cycle.volts_between(capacitor->plus, capacitor->minus);
    const auto [low, high] = std::minmax_element(volts.begin(), volts.end());
    if (std::abs(*low) > kHeldVolts && *high - *low < kHeldRipple * std::abs(*low)) {
      unmoved.insert(static_cast<int>(i));
    }
  }
  return unmoved;
}

/// Two situations with the same shape give circuits of the same states in the same order.
std::vector<std::string> shape_of(const core::Rig& rig, const Situation& situation,
                                  const WarmList& warm) {
  std::vector<std::string> shape{netlists::stage_key(situation.stage)};
  shape.insert(shape.end(), warm.names.begin(), warm.names.end());
  shape.insert(shape.end(), situation.lifted.begin(), situation.lifted.end());
  shape.emplace_back("cold");
  shape.insert(shape.end(), situation.cold_rectifiers.begin(), situation.cold_rectifiers.end());
  shape.emplace_back(situation.core_model == netlists::CoreModel::linear ? "linear" : "saturating");
  shape.push_back(rig.name);
  return shape;
}

void mark_uncertain(std::vector<HeaterState>& states, const Situation& situation) {
  for (HeaterState& state : states) {
    if (state.conduction == Conduction::none && !situation.cold_rectifiers.contains(state.part)) {
      state.conduction = Conduction::uncertain;
    }
  }
}

std::function<std::string(int)> names_of(const core::Rig& rig) {
  return [&rig](int part) { return rig.parts.at(static_cast<std::size_t>(part)).designator; };
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
  return waves_.node_v.at(static_cast<std::size_t>(node));
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

RigRun run_cycle(Engine& engine, netlists::BuiltDeck built, double period_s) {
  RunSpec spec = spec_for(built, period_s, kCycleSteps, true);
  spec.stop_s = period_s;
  Waveforms waves = engine.run(built.deck, spec);
  return {std::move(built), std::move(waves)};
}

double variac_volts_of(const core::Rig& rig, const Situation& situation) {
  return situation.line.value_or(rig.mains().nominal).si() * situation.variac_setting;
}

void SteadyRunner::start_from(const SteadyRunner& other) {
  solver_.start_from(other.solver_);
  last_ = other.last_;
  before_last_ = other.before_last_;
}

PeriodicPoint SteadyRunner::guess_for(const Situation& situation, double volts,
                                      const std::vector<std::string>& shape) const {
  if (!last_ || last_->shape != shape) {
    return {};
  }
  if (situation.lamp && last_->lamp_vrms > 0.0 &&
      situation.lamp->rated_watts.si() != last_->lamp_rated_w) {
    return guess_with_lamp(*situation.lamp, volts);
  }
  const double step_v = before_last_ ? last_->volts - before_last_->volts : 0.0;
  if (step_v != 0.0 && before_last_->shape == shape &&
      std::abs(volts - last_->volts) <= kFarthestLine * std::abs(step_v)) {
    return guess_on_line((volts - last_->volts) / step_v);
  }
  PeriodicPoint guess = last_->point;
  for (double& value : guess.state) {
    value *= volts / last_->volts;
  }
  return guess;
}

/// `share` steps further on the straight line through the last two; warm ohms by their logarithms.
PeriodicPoint SteadyRunner::guess_on_line(double share) const {
  PeriodicPoint guess = last_->point;
  const PeriodicPoint& before = before_last_->point;
  for (std::size_t i = 0; i < guess.state.size(); ++i) {
    guess.state[i] += share * (guess.state[i] - before.state[i]);
  }
  for (std::size_t i = 0; i < guess.warm_ohm.size(); ++i) {
    guess.warm_ohm[i] *= std::pow(guess.warm_ohm[i] / before.warm_ohm[i], share);
  }
  return guess;
}

PeriodicPoint SteadyRunner::guess_with_lamp(const netlists::LampInSeries& lamp,
                                            double volts) const {
  const netlists::TungstenParameters wire = netlists::tungsten_of(lamp);
  PeriodicPoint guess = last_->point;
  double& lamp_ohm = guess.warm_ohm.at(kLampPlace);
  const double last_a = last_->lamp_vrms / lamp_ohm;
  const double rest_ohm = std::max(0.0, last_->volts - last_->lamp_vrms) / last_a;
  lamp_ohm = wire.hot_ohm();
  for (int round = 0; round < kLampRounds; ++round) {
    const double amps = volts / (rest_ohm + lamp_ohm);
    lamp_ohm = std::sqrt(lamp_ohm * netlists::ohm_at_power(wire, amps * amps * lamp_ohm));
  }
  for (double& value : guess.state) {
    value *= volts / (rest_ohm + lamp_ohm) / last_a;
  }
  return guess;
}

SteadyRun SteadyRunner::run(const Situation& situation) {
  Situation tried = situation;
  tried.lit.clear();
  RegulatorStates states(rig_);
  for (;;) {
    SteadyRun found = run_as_lit(tried);
    if (!states.revise(found.cycle)) {
      found.cycle.remember_dark_v(states.dark_v());
      return found;
    }
    tried.lit = states.lit();
  }
}

SteadyRun SteadyRunner::run_as_lit(const Situation& situation) {
  SteadyRun hot = solve(situation);
  Situation colder = situation;
  for (const HeaterState& state : hot.heaters) {
    if (state.conduction == Conduction::none) {
      colder.cold_rectifiers.insert(state.part);
    }
  }
  if (colder.cold_rectifiers == situation.cold_rectifiers) {
    return hot;
  }
  SteadyRun cold = solve(colder);
  for (const HeaterState& state : cold.heaters) {
    const bool warms_up =
        state.share > kColdShare && !situation.cold_rectifiers.contains(state.part);
    if (state.conduction == Conduction::none && warms_up) {
      // with nothing drawn its heater gets enough after all: it may conduct
      mark_uncertain(hot.heaters, situation);
      return hot;
    }
  }
  return cold;
}

// A steady state draws the circuit to itself: a tenth lower, one cycle brings it nearer.
bool SteadyRunner::comes_back(const PeriodicProblem& problem, const PeriodicPoint& found,
                              const std::set<int>& capacitors) {
  if (capacitors.empty()) {
    return true;
  }
  PeriodicPoint lower = found;
  for (double& value : lower.state) {
    value *= kLower;
  }
  RunSpec spec;
  spec.stop_s = problem.period_s;
  spec.max_step_s = problem.period_s / problem.steps_per_cycle;
  const std::vector<double> after = engine_.run(deck_at(problem, lower), spec).final_state;
  const std::vector<netlists::ElementIndex> elements = netlists::state_elements(problem.deck);
  for (std::size_t i = 0; i < elements.size(); ++i) {
    const netlists::Element& element = problem.deck.elements[static_cast<std::size_t>(elements[i])];
    if (std::holds_alternative<netlists::CapacitorElement>(element.data) &&
        capacitors.contains(element.part)) {
      const double gap = found.state[i] - lower.state[i];
      if ((after[i] - lower.state[i]) / gap < kHeldRipple) {
        return false;
      }
    }
  }
  return true;
}

// Where nothing draws from a capacitor every volt above the peaks of its rectifiers repeats itself:
// the search may come down on any of them. What a switch-on from cold leaves is the one to read.
PeriodicPoint SteadyRunner::after_switch_on(const PeriodicProblem& problem,
                                            const PeriodicPoint& found) {
  PeriodicPoint start = found;
  start.state.assign(found.state.size(), 0.0);
  RunSpec spec;
  // an even number of cycles: both halves begin where a cycle does
  const double held_s = 2.0 * std::ceil(0.5 * kHeldSeconds / problem.period_s) * problem.period_s;
  spec.save_from_s = 0.49 * held_s;
  spec.max_step_s = problem.period_s / problem.steps_per_cycle;
  PeriodicPoint before = found, left = found;
  spec.stop_s = 0.5 * held_s;
  before.state = engine_.run(deck_at(problem, start), spec).final_state;
  left.state = engine_.run(deck_at(problem, before), spec).final_state;
  double largest = 0.0, moved = 0.0;
  for (std::size_t i = 0; i < left.state.size(); ++i) {
    largest = std::max(largest, std::abs(left.state[i]));
    moved = std::max(moved, std::abs(left.state[i] - before.state[i]));
  }
  if (moved > kHeldMove * largest) {
    throw core::SimulationError(
        "nothing draws from a capacitor, and after a long switch-on it had not settled: no steady "
        "state is known",
        {});
  }
  return left;
}

SteadyRun SteadyRunner::solve(const Situation& situation) {
  BuiltDeck built = netlists::build_deck(rig_, situation);
  WarmList warm = warm_resistors(rig_, built, situation);
  PeriodicProblem problem;
  problem.deck = built.deck;
  problem.warm = warm.resistors;
  problem.period_s = 1.0 / rig_.mains().frequency.si();
  problem.steps_per_cycle = kCycleSteps;
  const double volts = variac_volts_of(rig_, situation);
  std::vector<std::string> shape = shape_of(rig_, situation, warm);
  const PeriodicPoint guess = guess_for(situation, volts, shape);
  try {
    PeriodicPoint point = solver_.solve(problem, guess);
    built.deck = deck_at(problem, point);
    RigRun cycle = run_cycle(engine_, built, problem.period_s);
    if (guess.state.empty() && !comes_back(problem, point, unmoved_capacitors(rig_, cycle))) {
      point = after_switch_on(problem, point);
      built.deck = deck_at(problem, point);
      cycle = run_cycle(engine_, std::move(built), problem.period_s);
    }
    before_last_ = std::exchange(last_, Last{point, volts, std::move(shape)});
    if (const auto lamp_v = cycle.lamp_v(); lamp_v && situation.lamp) {
      last_->lamp_rated_w = situation.lamp->rated_watts.si();
      last_->lamp_vrms = rms_of({cycle.time_s(), *lamp_v});
    }
    std::vector<HeaterState> heaters = heater_states(rig_, cycle, situation);
    return SteadyRun{std::move(cycle), point, std::move(warm.names), std::move(heaters)};
  } catch (const core::SimulationError& error) {
    last_.reset();
    before_last_.reset();
    throw with_part_names(error, names_of(rig_));
  }
}

namespace {

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
  try {
    Waveforms waves = engine.run(built.deck, spec);
    return RigRun(std::move(built), std::move(waves));
  } catch (const core::SimulationError& error) {
    throw with_part_names(error, names_of(rig));
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
