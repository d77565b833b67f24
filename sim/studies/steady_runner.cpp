// Finds steady states: docs/methods/steady_state.md.
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
#include "sim/studies/rig_run.hpp"
#include "sim/studies/warm_resistors.hpp"

namespace firstglow::sim {
namespace {

using netlists::BuiltDeck;
using netlists::Situation;

/// Two steady states at different volts foretell a third as far away as this many times the step
/// between them.
constexpr double kFarthestLine = 1.5;

/// Volts that move by less than this part in a cycle are looked at again: R C of half an hour.
constexpr double kHeldRipple = 1e-5;
constexpr double kLower = 0.9;
constexpr double kHeldVolts = 1.0;
/// How long a switch-on is followed to see what it leaves there, and how far a capacitor may still
/// move in its second half: this part, and as many volts.
constexpr double kHeldSeconds = 4.0;
constexpr double kHeldMove = 0.01;
constexpr double kHeldSlackVolts = 0.1;
/// A guess from a neighbouring state is at most this far off.
constexpr double kRisen = 1.05;

constexpr std::size_t kLampPlace =
    0;                           ///< of the lamp among the warm resistances, see warm_resistors()
constexpr int kLampRounds = 30;  ///< each halves the error of a guess's logarithm

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

/// Places of capacitors among the states of a deck: those of some parts, or all.
std::vector<std::size_t> states_of(const netlists::Deck& deck,
                                   const std::optional<std::set<int>>& parts = std::nullopt) {
  const std::vector<netlists::ElementIndex> elements = netlists::state_elements(deck);
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < elements.size(); ++i) {
    const netlists::Element& element = deck.elements[static_cast<std::size_t>(elements[i])];
    if (std::holds_alternative<netlists::CapacitorElement>(element.data) &&
        (!parts || parts->contains(element.part))) {
      places.push_back(i);
    }
  }
  return places;
}

/// Does one of these stand clearly above where the search began? A search without a guess began
/// empty.
bool risen(const PeriodicPoint& point, const PeriodicPoint& guess,
           const std::vector<std::size_t>& capacitors) {
  return std::any_of(capacitors.begin(), capacitors.end(), [&](std::size_t i) {
    const double from_v = guess.state.empty() ? 0.0 : std::abs(guess.state[i]);
    return std::abs(point.state[i]) > kRisen * from_v;
  });
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

}  // namespace

void SteadyRunner::start_from(const SteadyRunner& other) {
  solver_.start_from(other.solver_);
  last_ = other.last_;
  before_last_ = other.before_last_;
}

void SteadyRunner::start_from(const SteadyRunner& other, PeriodicPoint guess) {
  start_from(other);
  if (last_ && last_->point.state.size() == guess.state.size() &&
      last_->point.warm_ohm.size() == guess.warm_ohm.size()) {
    last_->point = std::move(guess);
    before_last_.reset();
  }
}

// Not with its Jacobian: where the lifted part was what a charge left by, a search with the old one
// takes a slow mode for a fast one, and ends before it has arrived.
void SteadyRunner::start_near(const SteadyRunner& other) {
  last_ = other.last_;
  before_last_.reset();
  near_ = last_.has_value();
}

PeriodicPoint SteadyRunner::guess_near(const netlists::Deck& deck, const WarmList& warm) const {
  PeriodicPoint guess;
  guess.state = carried_state(last_->deck, last_->point.state, deck);
  for (std::size_t i = 0; i < warm.names.size(); ++i) {
    const auto known = std::find(last_->warm_names.begin(), last_->warm_names.end(), warm.names[i]);
    const auto element = static_cast<std::size_t>(warm.resistors[i].element);
    guess.warm_ohm.push_back(
        known != last_->warm_names.end()
            ? last_->point.warm_ohm[static_cast<std::size_t>(known - last_->warm_names.begin())]
            : std::get<netlists::ResistorElement>(deck.elements[element].data).ohm);
  }
  return guess;
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
                              const std::vector<std::size_t>& capacitors) {
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
  return std::all_of(capacitors.begin(), capacitors.end(), [&](std::size_t i) {
    const double gap = found.state[i] - lower.state[i];
    return (after[i] - lower.state[i]) / gap >= kHeldRipple;
  });
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
  const std::vector<std::size_t> capacitors = states_of(problem.deck);
  const bool moves = std::any_of(capacitors.begin(), capacitors.end(), [&](std::size_t i) {
    return std::abs(left.state[i] - before.state[i]) >
           kHeldMove * std::abs(left.state[i]) + kHeldSlackVolts;
  });
  if (moves) {
    throw core::SimulationError(
        "nothing draws from a capacitor, and after a long switch-on it had not settled: no steady "
        "state is known",
        {});
  }
  return left;
}

PeriodicPoint SteadyRunner::point_near(const PeriodicProblem& problem, const WarmList& warm) {
  try {
    return solver_.solve(problem, guess_near(problem.deck, warm));
  } catch (const core::SimulationError&) {
    return solver_.solve(problem, {});  // not so near after all
  }
}

SteadyRun SteadyRunner::solve(const Situation& situation) {
  BuiltDeck built = netlists::build_deck(rig_, situation);
  WarmList warm = warm_resistors(rig_, built, situation);
  PeriodicProblem problem;
  problem.deck = built.deck;
  problem.warm = warm.resistors;
  problem.period_s = 1.0 / rig_.mains().frequency.si();
  problem.steps_per_cycle = effort_.steps_per_cycle;
  problem.slack = effort_.slack;
  if (problem.slack > 0.0) {
    RunSpec read = cycle_spec(built, problem.period_s, problem.steps_per_cycle);
    problem.read_nodes = std::move(read.nodes);
    problem.read_currents = std::move(read.currents);
  }

  const double volts = variac_volts_of(rig_, situation);
  std::vector<std::string> shape = shape_of(rig_, situation, warm);
  const bool near = std::exchange(near_, false);
  const PeriodicPoint guess = near ? PeriodicPoint{} : guess_for(situation, volts, shape);
  try {
    PeriodicPoint point = near ? point_near(problem, warm) : solver_.solve(problem, guess);
    built.deck = deck_at(problem, point);
    RigRun cycle = run_cycle(engine_, built, problem.period_s, problem.steps_per_cycle);
    const std::vector<std::size_t> unmoved =
        states_of(problem.deck, unmoved_capacitors(rig_, cycle));
    if (risen(point, guess, unmoved) && !comes_back(problem, point, unmoved)) {
      point = after_switch_on(problem, point);
      built.deck = deck_at(problem, point);
      cycle = run_cycle(engine_, std::move(built), problem.period_s, problem.steps_per_cycle);
    }
    before_last_ = std::exchange(
        last_, Last{point, volts, std::move(shape), 0.0, 0.0, problem.deck, warm.names});
    if (const auto lamp_v = cycle.lamp_v(); lamp_v && situation.lamp) {
      last_->lamp_rated_w = situation.lamp->rated_watts.si();
      last_->lamp_vrms = rms_of({cycle.time_s(), *lamp_v});
    }
    std::vector<HeaterState> heaters = heater_states(rig_, cycle, situation);
    return SteadyRun{std::move(cycle), point, std::move(warm.names), std::move(heaters)};
  } catch (const core::SimulationError& error) {
    last_.reset();
    before_last_.reset();
    throw with_part_names(error, part_names(rig_));
  }
}

}  // namespace firstglow::sim
