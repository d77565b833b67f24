#pragma once
/// @file
/// What did every node and part of the rig do in this run?

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/rig.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/engine.hpp"
#include "sim/envelope/periodic_state.hpp"
#include "sim/studies/heater_state.hpp"
#include "sim/studies/warm_resistors.hpp"

namespace firstglow::sim {

/// Waveforms of one run by the user's own nodes and parts (indices into the rig it was run for).
class RigRun {
 public:
  RigRun(netlists::BuiltDeck built, Waveforms waves);

  [[nodiscard]] const netlists::BuiltDeck& built() const { return built_; }
  [[nodiscard]] const std::vector<double>& time_s() const { return waves_.time_s; }
  [[nodiscard]] const std::vector<double>& final_state() const { return waves_.final_state; }

  /// Puts the waves of a later run of a circuit with the same nodes and elements behind these.
  void append(const RigRun& later, double offset_s);

  [[nodiscard]] bool has_node(core::NodeIndex node) const;
  [[nodiscard]] const std::vector<double>& node_v(core::NodeIndex node) const;
  /// v(a) - v(b); both nodes must be in the circuit.
  [[nodiscard]] std::vector<double> volts_between(core::NodeIndex a, core::NodeIndex b) const;
  /// Current of a part (or winding section); nullptr when it is not in this circuit.
  [[nodiscard]] const std::vector<double>* part_a(int part, int section = 0) const;
  /// Current drawn from the mains; zero everywhere when the mains is off.
  [[nodiscard]] std::vector<double> mains_a() const;
  /// Volts at the inlet pins, and where a meter on the variac output sits.
  [[nodiscard]] std::vector<double> mains_v() const;
  [[nodiscard]] std::vector<double> variac_v() const;
  /// Highest volts a vr tube saw while it was dark; empty when nobody looked.
  [[nodiscard]] std::optional<double> dark_v(int part) const;
  void remember_dark_v(std::map<int, double> volts) { dark_v_ = std::move(volts); }
  /// Volts across the series lamp; empty when no lamp is in.
  [[nodiscard]] std::optional<std::vector<double>> lamp_v() const;

 private:
  [[nodiscard]] const std::vector<double>& deck_node_v(netlists::DeckNode node) const;

  netlists::BuiltDeck built_;
  Waveforms waves_;
  std::map<int, double> dark_v_;
  std::map<netlists::ElementIndex, std::size_t> wave_of_element_;
};

/// Designator of a part by its index; lives as long as the rig does.
[[nodiscard]] std::function<std::string(int)> part_names(const core::Rig& rig);

inline constexpr int kCycleSteps = 200;  ///< of a cycle that is read

/// Every node and part current of a circuit over one mains cycle.
[[nodiscard]] RunSpec cycle_spec(const netlists::BuiltDeck& built, double period_s,
                                 int steps_per_cycle = kCycleSteps);
/// One mains cycle from the start values of the deck, whatever comes after. @throws SimulationError
[[nodiscard]] RigRun run_cycle(Engine& engine, netlists::BuiltDeck built, double period_s,
                               int steps_per_cycle = kCycleSteps);

/// A steady situation: one mains cycle of it, and the point it was started from.
struct SteadyRun {
  RigRun cycle;
  PeriodicPoint point;
  std::vector<std::string> warm_names;  ///< designator of each warm resistance, "lamp" for the lamp
  std::vector<HeaterState> heaters = {};  ///< of the rectifier tubes
};

/// How exactly a steady situation is looked for.
struct SteadyEffort {
  int steps_per_cycle = kCycleSteps;
  double slack = 0.0;  ///< as PeriodicProblem::slack
};

/// Finds steady situations of one rig on one worker. Successive situations that give a circuit of
/// the same shape start from the one before, scaled by the variac volts; after two at different
/// volts, from the straight line through both; with another lamp, at what that lamp would leave if
/// the rig were a resistance.
class SteadyRunner {
 public:
  SteadyRunner(Engine& engine, const core::Rig& rig, SteadyEffort effort = {})
      : solver_(engine), engine_(engine), rig_(rig), effort_(effort) {}

  /// Rectifier tubes conduct as their heater volts in the answer say (heater_state.hpp); those in
  /// situation.cold_rectifiers do not, whatever their volts.
  /// Finds out which vr tubes glow (sim/studies/regulator_states.hpp); `situation.lit` is not
  /// looked at.
  /// @throws SimulationError with the names of the parts at the failing node.
  [[nodiscard]] SteadyRun run(const netlists::Situation& situation);

  /// Begins where another runner of the same rig stands, so that what this one finds does not
  /// depend on what it found before.
  void start_from(const SteadyRunner& other);
  /// The same, with a better guess of where the next situation lies.
  void start_from(const SteadyRunner& other, PeriodicPoint guess);
  /// Begins with the volts that another runner found for a like circuit: a part may be lifted or
  /// another. They are a guess only: what nothing draws from is looked at as after an empty start.
  void start_near(const SteadyRunner& other);

 private:
  [[nodiscard]] SteadyRun solve(const netlists::Situation& situation);
  [[nodiscard]] bool comes_back(const PeriodicProblem& problem, const PeriodicPoint& found,
                                const std::vector<std::size_t>& capacitors);
  [[nodiscard]] PeriodicPoint after_switch_on(const PeriodicProblem& problem,
                                              const PeriodicPoint& found);

  struct Last {
    PeriodicPoint point;
    double volts = 0.0;
    std::vector<std::string> shape;
    double lamp_rated_w = 0.0;  ///< 0: no lamp was in
    double lamp_vrms = 0.0;
    netlists::Deck deck = {};  ///< that the point belongs to
    std::vector<std::string> warm_names = {};
  };
  /// With the vr tubes as the situation says.
  [[nodiscard]] SteadyRun run_as_lit(const netlists::Situation& situation);

  PeriodicSolver solver_;
  Engine& engine_;
  const core::Rig& rig_;
  SteadyEffort effort_;
  [[nodiscard]] PeriodicPoint guess_for(const netlists::Situation& situation, double volts,
                                        const std::vector<std::string>& shape) const;
  /// Where `last_` stands, part by part in another circuit.
  [[nodiscard]] PeriodicPoint guess_near(const netlists::Deck& deck, const WarmList& warm) const;
  [[nodiscard]] PeriodicPoint point_near(const PeriodicProblem& problem, const WarmList& warm);
  [[nodiscard]] PeriodicPoint guess_on_line(double share) const;
  [[nodiscard]] PeriodicPoint guess_with_lamp(const netlists::LampInSeries& lamp,
                                              double volts) const;

  std::optional<Last> last_;
  std::optional<Last> before_last_;
  bool near_ = false;  ///< `last_` is that of a like circuit
};

/// How a transient is run.
struct TransientPlan {
  double stop_s = 0.0;
  double save_from_s = 0.0;
  int steps_per_cycle = 200;
  std::vector<double> start_state;  ///< empty: the deck's own (all zero)
  bool with_currents = true;
  bool capacitors_only = false;  ///< no volts but those of capacitor terminals may be asked for
};

/// One transient of a situation; with StepRelay::timed in two runs, the second from the end of the
/// first, at the phase the mains has then. @throws SimulationError with names of parts.
[[nodiscard]] RigRun run_transient(Engine& engine, const core::Rig& rig,
                                   const netlists::Situation& situation, const TransientPlan& plan);

/// How long a switch-on has to be followed: `least_s`, and until everything has answered to the
/// last step start of the rig [s].
[[nodiscard]] double switch_on_seconds(const core::Rig& rig, double least_s);

/// Start state for `to` from the end of a run of `from`: states of parts in both circuits are
/// carried over, others keep the deck's own start value.
[[nodiscard]] std::vector<double> carried_state(const netlists::BuiltDeck& from,
                                                const std::vector<double>& state,
                                                const netlists::BuiltDeck& to);

/// Warm resistances of a steady run as Situation::held_ohm.
[[nodiscard]] std::map<std::string, double> held_ohm_of(const SteadyRun& run);

/// Open-circuit variac volts of a situation [V rms].
[[nodiscard]] double variac_volts_of(const core::Rig& rig, const netlists::Situation& situation);

}  // namespace firstglow::sim
