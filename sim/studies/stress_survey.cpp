#include "sim/studies/stress_survey.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <mutex>
#include <set>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
#include "sim/studies/stack_mirror.hpp"
#include "sim/studies/switch_on_time.hpp"
#include "sim/studies/tolerance.hpp"
#include "sim/studies/tube_survey.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

/// Long enough for the first swings of any filter choke with its capacitors (several tenths of a
/// second for 20 H and 100 uF), short enough to be run a hundred times.
constexpr double kSwitchOnSeconds = 0.6;
/// The first cycles once more in fine steps: a small capacitor charges within a few steps.
constexpr int kFineCycles = 2;
constexpr int kFineSteps = 1000;
/// Stands for a figure a failed run did not give; Sensitivity takes it as no effect seen.
constexpr double kNoFigure = std::numeric_limits<double>::infinity();

/// Stresses of one run with the words for it; or why there is no answer.
struct Outcome {
  std::vector<Stress> stresses;
  bool transient = false;
  std::string words;
  std::string failure;
  Situation situation;
};

class Surveyor {
 public:
  Surveyor(const core::Rig& rig, int closing_angles, const Progress& progress, WorkerPool& pool)
      : rig_(rig), angles_(closing_angles), progress_(progress), pool_(pool), mirror_(rig) {
    for (const Stage stage : netlists::stages_of(rig)) {
      if (stage >= Stage::filter) {
        steady_stages_.push_back(stage);
      }
      if (stage <= Stage::tubes_out) {
        cold_stage_ = stage;
      }
      has_heaters_ = has_heaters_ || stage == Stage::heaters;
      loaded_stage_ = stage;
    }
  }

  StressSurvey run() {
    steady_part();
    stuck_relay_part();
    loss_of_load_part();
    angle_part();
    tolerance_part();
    tube_part();
    return std::move(survey_);
  }

 private:
  [[nodiscard]] Situation high_line(Stage stage) const {
    Situation situation;
    situation.stage = stage;
    situation.line = rig_.mains().high;
    return situation;
  }

  void tell_progress() {
    const std::scoped_lock lock(mutex_);
    ++done_;
    if (progress_) {
      progress_(done_, std::max(done_, planned_));
    }
  }

  void merge(const Outcome& outcome) {
    if (!outcome.failure.empty()) {
      survey_.failures.push_back(outcome.words + ": " + outcome.failure);
      return;
    }
    for (const Stress& stress : outcome.stresses) {
      const StressKey key{stress.part, stress.section, stress.rule};
      const auto [place, fresh] = survey_.worst.try_emplace(key);
      if (fresh || stress.value > place->second.value) {
        place->second = WorstStress{stress.value, stress.at_s, outcome.transient, outcome.words};
      }
    }
  }

  Outcome steady_outcome(SteadyRunner& runner, const Situation& situation) const {
    Outcome outcome;
    outcome.words = steady_words(rig_, situation);
    outcome.situation = situation;
    try {
      outcome.stresses = stresses_of(rig_, runner.run(situation).cycle, RunKind::steady);
    } catch (const core::SimulationError& error) {
      outcome.failure = error.what();
    }
    return outcome;
  }

  /// How a switch-on is followed: to its end or until `brief_s_`, with its first cycles in fine
  /// steps; or, to compare tolerances with each other, until `brief_s_` without those.
  enum class Depth { whole, brief, compare };

  Outcome switch_on_outcome(Engine& engine, const Situation& situation, Depth depth) const {
    Outcome outcome;
    outcome.transient = true;
    outcome.words = switch_on_words(rig_, situation);
    outcome.situation = situation;
    try {
      TransientPlan plan;
      if (depth == Depth::compare) {
        plan.stop_s = brief_s_;
        outcome.stresses =
            stresses_of(rig_, run_transient(engine, rig_, situation, plan), RunKind::transient);
        return outcome;
      }
      plan.stop_s = kFineCycles / rig_.mains().frequency.si();
      plan.steps_per_cycle = kFineSteps;
      outcome.stresses =
          stresses_of(rig_, run_transient(engine, rig_, situation, plan), RunKind::transient);
      plan.stop_s = depth == Depth::whole ? switch_on_seconds(rig_, kSwitchOnSeconds) : brief_s_;
      plan.steps_per_cycle = 200;
      const std::vector<Stress> longer =
          stresses_of(rig_, run_transient(engine, rig_, situation, plan), RunKind::transient);
      for (std::size_t i = 0; i < longer.size(); ++i) {
        if (longer[i].value > outcome.stresses[i].value) {
          outcome.stresses[i] = longer[i];
        }
      }
    } catch (const core::SimulationError& error) {
      outcome.failure = error.what();
    }
    return outcome;
  }

  /// Figures of an outcome in the order of the nominal one, for a Sensitivity.
  static std::vector<double> figures_of(const Outcome& outcome, std::size_t count) {
    std::vector<double> figures(count, kNoFigure);
    for (std::size_t i = 0; i < std::min(count, outcome.stresses.size()); ++i) {
      figures[i] = outcome.stresses[i].value;
    }
    return figures;
  }

  static Sensitivity sensitivity_of(const std::vector<std::string>& parts,
                                    const std::vector<Outcome>& outcomes) {
    std::vector<std::vector<double>> figures;
    figures.reserve(outcomes.size());
    for (const Outcome& outcome : outcomes) {
      figures.push_back(figures_of(outcome, outcomes.front().stresses.size()));
    }
    return Sensitivity(parts, std::move(figures));
  }

  [[nodiscard]] int index_of(const std::string& designator) const {
    return static_cast<int>(rig_.find(designator) - rig_.parts.data());
  }

  /// Those of the parts whose tolerance has to be run: copies in a stack are read off the others.
  [[nodiscard]] std::vector<std::string> own_parts(std::vector<std::string> parts) const {
    std::erase_if(parts, [&](const std::string& name) { return mirror_.is_copy(index_of(name)); });
    return parts;
  }

  [[nodiscard]] Outcome mirrored(Outcome outcome, const StackMirror::Swap& swap) const {
    outcome.stresses = StackMirror::swapped(std::move(outcome.stresses), swap);
    outcome.situation = mirror_.swapped(std::move(outcome.situation), swap);
    outcome.words = outcome.transient ? switch_on_words(rig_, outcome.situation)
                                      : steady_words(rig_, outcome.situation);
    return outcome;
  }

  /// Outcomes of single_corners(parts) from those of single_corners(own_parts(parts)).
  [[nodiscard]] std::vector<Outcome> with_copies(const std::vector<std::string>& parts,
                                                 const std::vector<Outcome>& own) const {
    const std::vector<std::string> run = own_parts(parts);
    std::vector<Outcome> all{own.front()};
    for (const std::string& name : parts) {
      const StackMirror::Swap* swap = mirror_.swap_of(index_of(name));
      const int model = swap == nullptr ? index_of(name) : swap->at(index_of(name));
      const std::string& model_name = rig_.parts[static_cast<std::size_t>(model)].designator;
      const auto place =
          static_cast<std::size_t>(std::find(run.begin(), run.end(), model_name) - run.begin());
      for (const std::size_t i : {2 * place + 1, 2 * place + 2}) {
        all.push_back(swap == nullptr ? own.at(i) : mirrored(own.at(i), *swap));
      }
    }
    return all;
  }

  /// worst_corners() of the stresses that are no copies.
  [[nodiscard]] std::set<Corner> own_worst_corners(const std::vector<std::string>& parts,
                                                   const std::vector<Outcome>& outcomes) const {
    const Sensitivity sensitivity = sensitivity_of(parts, outcomes);
    std::set<Corner> corners;
    for (std::size_t i = 0; i < outcomes.front().stresses.size(); ++i) {
      Corner corner = sensitivity.corner_for(i, 1);
      if (corner.size() > 1 && !mirror_.is_copy(outcomes.front().stresses[i].part)) {
        corners.insert(std::move(corner));
      }
    }
    return corners;
  }

  /// One stage in steady state: nominal, single corners, worst corners, on one worker.
  std::vector<Outcome> steady_chain(Engine& engine, Stage stage) {
    SteadyRunner runner(engine, rig_);
    const std::vector<std::string> parts = toleranced_parts(rig_, stage);
    std::vector<Outcome> own;
    Situation situation = high_line(stage);
    for (const Corner& corner : single_corners(own_parts(parts))) {
      situation.corner = corner;
      own.push_back(steady_outcome(runner, situation));
    }
    if (!own.front().failure.empty()) {
      return own;
    }
    std::vector<Outcome> outcomes = with_copies(parts, own);
    for (const Corner& corner : own_worst_corners(parts, outcomes)) {
      situation.corner = corner;
      outcomes.push_back(steady_outcome(runner, situation));
      const Outcome worst = outcomes.back();
      for (const StackMirror::Swap& swap : mirror_.swaps()) {
        outcomes.push_back(mirrored(worst, swap));
      }
    }
    return outcomes;
  }

  void steady_part() {
    std::vector<std::vector<Outcome>> outcomes(steady_stages_.size());
    planned_ += static_cast<int>(outcomes.size());
    pool_.for_each(outcomes.size(), [&](Engine& engine, std::size_t i) {
      // the longest chains are the last stages: start them first
      const std::size_t stage = outcomes.size() - 1 - i;
      outcomes[stage] = steady_chain(engine, steady_stages_[stage]);
      tell_progress();
    });
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
      for (const Outcome& outcome : outcomes[i]) {
        merge(outcome);
      }
      survey_.situations.push_back(fmt::format(
          "steady, {}, high line {:.3g} V rms: nominal, each tolerance by itself, "
          "worst corners ({} cases)",
          netlists::stage_words(steady_stages_[i]), rig_.mains().high.si(), outcomes[i].size()));
    }
  }

  /// The relay of a step start that never closes: every stage, nominal parts.
  void stuck_relay_part() {
    if (!has_step_start(rig_)) {
      return;
    }
    std::vector<Outcome> outcomes;
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      SteadyRunner runner(engine, rig_);
      for (const Stage stage : steady_stages_) {
        Situation situation = high_line(stage);
        situation.step_relay = netlists::StepRelay::open;
        outcomes.push_back(steady_outcome(runner, situation));
        outcomes.back().words += ", relay of the step start never closes";
      }
    });
    for (const Outcome& outcome : outcomes) {
      merge(outcome);
    }
    survey_.situations.push_back("steady, every stage, relay of the step start never closes");
  }

  void loss_of_load_part() {
    if (loaded_stage_ <= Stage::heaters || cold_stage_ < Stage::filter) {
      return;
    }
    Outcome outcome;
    outcome.transient = true;
    outcome.words = fmt::format("all loads lost from {}, line {:.3g} V rms",
                                netlists::stage_words(loaded_stage_), rig_.mains().high.si());
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      try {
        SteadyRunner runner(engine, rig_);
        const SteadyRun loaded = runner.run(high_line(loaded_stage_));
        const Situation after = high_line(cold_stage_);
        TransientPlan plan;
        plan.stop_s = kSwitchOnSeconds;
        plan.start_state = carried_state(loaded.cycle.built(), loaded.cycle.final_state(),
                                         netlists::build_deck(rig_, after));
        outcome.stresses =
            stresses_of(rig_, run_transient(engine, rig_, after, plan), RunKind::transient);
      } catch (const core::SimulationError& error) {
        outcome.failure = error.what();
      }
    });
    merge(outcome);
    survey_.situations.push_back(outcome.words);
  }

  void angle_part() {
    std::vector<Situation> situations;
    for (int i = 0; i < angles_; ++i) {
      Situation situation = cold_at(360.0 * i / angles_, {});
      situations.push_back(situation);
      if (has_heaters_) {
        situation.stage = Stage::heaters;
        situation.thermal = netlists::ThermalMode::moving;
        situations.push_back(situation);
      }
    }
    const std::vector<Outcome> outcomes = switch_on_runs(situations, Depth::whole);
    find_worst_angles(situations, outcomes);
    find_brief_time(situations, outcomes);
    survey_.situations.push_back(fmt::format(
        "cold switch-on, {}{}, high line {:.3g} V rms, {} closing angles",
        netlists::stage_words(cold_stage_), has_heaters_ ? " and with cold heaters in" : "",
        rig_.mains().high.si(), angles_));
  }

  void find_brief_time(const std::vector<Situation>& situations,
                       const std::vector<Outcome>& outcomes) {
    std::vector<Stress> nominal;
    for (std::size_t i = 0; i < situations.size(); ++i) {
      if (situations[i].stage == cold_stage_ &&
          worst_angles_.contains(situations[i].closing_angle_deg)) {
        nominal.insert(nominal.end(), outcomes[i].stresses.begin(), outcomes[i].stresses.end());
      }
    }
    brief_s_ =
        brief_switch_on_s(rig_, nominal, survey_.worst, switch_on_seconds(rig_, kSwitchOnSeconds));
  }

  std::vector<Outcome> switch_on_runs(const std::vector<Situation>& situations, Depth depth) {
    std::vector<Outcome> outcomes(situations.size());
    planned_ += static_cast<int>(outcomes.size());
    pool_.for_each(outcomes.size(), [&](Engine& engine, std::size_t i) {
      outcomes[i] = switch_on_outcome(engine, situations[i], depth);
      tell_progress();
    });
    for (const Outcome& outcome : outcomes) {
      merge(outcome);
    }
    return outcomes;
  }

  /// The angle at which each stress of the cold stage was worst; capacitors first, at most 4.
  void find_worst_angles(const std::vector<Situation>& situations,
                         const std::vector<Outcome>& outcomes) {
    std::map<StressKey, std::pair<double, double>> top;
    for (std::size_t i = 0; i < situations.size(); ++i) {
      if (situations[i].stage != cold_stage_) {
        continue;
      }
      for (const Stress& stress : outcomes[i].stresses) {
        const StressKey key{stress.part, stress.section, stress.rule};
        const auto [place, fresh] =
            top.try_emplace(key, stress.value, situations[i].closing_angle_deg);
        if (!fresh && stress.value > place->second.first * (1.0 + 1e-6)) {
          place->second = {stress.value, situations[i].closing_angle_deg};
        }
      }
    }
    double highest_v = -1.0;
    for (const StressRule rule : {StressRule::capacitor_surge_volts,
                                  StressRule::rectifier_surge_current, StressRule::rectifier_piv}) {
      for (const auto& [key, value] : top) {
        if (std::get<2>(key) != rule || worst_angles_.size() >= 4) {
          continue;
        }
        worst_angles_.insert(value.second);
        if (rule == StressRule::capacitor_surge_volts && value.first > highest_v) {
          highest_v = value.first;
          survey_.worst_angle_deg = value.second;
        }
      }
    }
  }

  void tolerance_part() {
    const std::vector<std::string> parts = toleranced_parts(rig_, cold_stage_);
    const std::vector<Corner> corners = single_corners(own_parts(parts));
    std::vector<Situation> situations;
    for (const double angle : worst_angles_) {
      for (const Corner& corner : corners) {
        situations.push_back(cold_at(angle, corner));
      }
    }
    const std::vector<Outcome> outcomes = switch_on_runs(situations, Depth::compare);
    std::vector<Situation> combined;
    auto first = outcomes.begin();
    for (const double angle : worst_angles_) {
      const std::vector<Outcome> group(first, first + static_cast<std::ptrdiff_t>(corners.size()));
      first += static_cast<std::ptrdiff_t>(corners.size());
      if (group.front().failure.empty()) {
        const std::vector<Outcome> all = with_copies(parts, group);
        std::for_each(all.begin(), all.end(), [&](const Outcome& each) {
          if (each.failure.empty()) {
            merge(each);
          }
        });
        for (const Corner& corner : own_worst_corners(parts, all)) {
          combined.push_back(cold_at(angle, corner));
        }
      }
    }
    for (const Outcome& worst : switch_on_runs(combined, Depth::brief)) {
      for (const StackMirror::Swap& swap : mirror_.swaps()) {
        merge(mirrored(worst, swap));
      }
    }
    survey_.situations.push_back(fmt::format(
        "cold switch-on at the {} worst closing angles: each tolerance by itself, worst corners "
        "({} runs)",
        worst_angles_.size(), situations.size() + combined.size()));
  }

  void tube_part() {
    TubeSurvey tubes = survey_tubes(rig_, pool_);
    for (TubeOutcome& outcome : tubes.outcomes) {
      merge(Outcome{std::move(outcome.stresses),
                    false,
                    std::move(outcome.words),
                    std::move(outcome.failure),
                    {}});
    }
    survey_.situations.insert(survey_.situations.end(), tubes.situations.begin(),
                              tubes.situations.end());
  }

  [[nodiscard]] Situation cold_at(double angle_deg, const Corner& corner) const {
    Situation situation = high_line(cold_stage_);
    situation.step_relay = netlists::StepRelay::timed;
    situation.closing_angle_deg = angle_deg;
    situation.corner = corner;
    return situation;
  }

  const core::Rig& rig_;
  int angles_;
  const Progress& progress_;
  WorkerPool& pool_;
  std::vector<Stage> steady_stages_;
  Stage cold_stage_ = Stage::transformer;
  Stage loaded_stage_ = Stage::transformer;
  bool has_heaters_ = false;
  StackMirror mirror_;
  std::set<double> worst_angles_;
  double brief_s_ = kSwitchOnSeconds;
  StressSurvey survey_;
  std::mutex mutex_;
  int done_ = 0;
  int planned_ = 0;
};

}  // namespace

StressSurvey survey_stresses(const core::Rig& rig, int closing_angles, const Progress& progress,
                             WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(closing_angles >= 4 && closing_angles <= 72, "4 to 72 closing angles");
  return Surveyor(rig, closing_angles, progress, pool).run();
}

}  // namespace firstglow::sim
