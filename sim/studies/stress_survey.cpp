#include "sim/studies/stress_survey.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <memory>
#include <mutex>
#include <set>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/corner_search.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
#include "sim/studies/survey_outcome.hpp"
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
/// The first cycle once more in fine steps: a small capacitor charges within a few steps.
constexpr int kFineCycles = 1;
constexpr int kFineSteps = 1000;
constexpr int kSteps = 200;
/// To compare tolerances with each other. Coarser steps give false peaks of inverse volts behind
/// (docs/methods/engine.md); the worst corner found so is run again with kSteps and kFineSteps.
constexpr int kCompareSteps = 200;

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

  void merge(const SurveyOutcome& outcome) {
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

  SurveyOutcome steady_outcome(SteadyRunner& runner, const Situation& situation) const {
    SurveyOutcome outcome;
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
  /// steps; or, to compare tolerances with each other, until `brief_s_` in coarse steps.
  enum class Depth { whole, brief, compare };

  SurveyOutcome switch_on_outcome(Engine& engine, const Situation& situation, Depth depth) const {
    SurveyOutcome outcome;
    outcome.transient = true;
    outcome.words = switch_on_words(rig_, situation);
    outcome.situation = situation;
    try {
      TransientPlan plan;
      if (depth == Depth::compare) {
        plan.stop_s = brief_s_;
        plan.steps_per_cycle = kCompareSteps;
        outcome.stresses =
            stresses_of(rig_, run_transient(engine, rig_, situation, plan), RunKind::transient);
        return outcome;
      }
      plan.stop_s = kFineCycles / rig_.mains().frequency.si();
      plan.steps_per_cycle = kFineSteps;
      outcome.stresses =
          stresses_of(rig_, run_transient(engine, rig_, situation, plan), RunKind::transient);
      plan.stop_s = depth == Depth::whole ? switch_on_seconds(rig_, kSwitchOnSeconds) : brief_s_;
      plan.steps_per_cycle = kSteps;
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

  /// Merges the outcome and those of the stack sections that are copies.
  void merge_mirrored(const SurveyOutcome& worst) {
    for (const StackMirror::Swap& swap : mirror_.stacks().swaps()) {
      merge(mirror_.mirrored(worst, swap));
    }
  }

  /// Runs steady situations, each from the nominal state of its stage, and merges them.
  std::vector<SurveyOutcome> steady_runs(
      const std::vector<Situation>& situations,
      const std::map<Stage, std::unique_ptr<SteadyRunner>>& nominal) {
    std::vector<SurveyOutcome> outcomes(situations.size());
    planned_ += static_cast<int>(situations.size());
    pool_.for_each(situations.size(), [&](Engine& engine, std::size_t i) {
      SteadyRunner runner(engine, rig_);
      runner.start_from(*nominal.at(situations[i].stage));
      outcomes[i] = steady_outcome(runner, situations[i]);
      tell_progress();
    });
    for (const SurveyOutcome& outcome : outcomes) {
      merge(outcome);
    }
    return outcomes;
  }

  /// Every stage with nominal parts; empty where that failed.
  std::vector<SurveyOutcome> nominal_stages(
      std::map<Stage, std::unique_ptr<SteadyRunner>>& runners) {
    std::vector<SurveyOutcome> outcomes(steady_stages_.size());
    planned_ += static_cast<int>(outcomes.size());
    pool_.for_each(outcomes.size(), [&](Engine& engine, std::size_t i) {
      auto runner = std::make_unique<SteadyRunner>(engine, rig_);
      outcomes[i] = steady_outcome(*runner, high_line(steady_stages_[i]));
      tell_progress();
      const std::scoped_lock lock(mutex_);
      runners.emplace(steady_stages_[i], std::move(runner));
    });
    for (const SurveyOutcome& outcome : outcomes) {
      merge(outcome);
    }
    return outcomes;
  }

  void steady_part() {
    std::map<Stage, std::unique_ptr<SteadyRunner>> runners;
    const std::vector<SurveyOutcome> nominal = nominal_stages(runners);
    std::vector<Situation> singles;
    for (std::size_t i = 0; i < nominal.size(); ++i) {
      for (const Corner& corner : own_single_corners(steady_stages_[i])) {
        if (!corner.empty() && nominal[i].failure.empty()) {
          singles.push_back(high_line(steady_stages_[i]));
          singles.back().corner = corner;
        }
      }
    }
    const std::vector<SurveyOutcome> outcomes = steady_runs(singles, runners);
    CornerSearch search(mirror_.stacks());
    for (std::size_t i = 0; i < nominal.size(); ++i) {
      std::vector<SurveyOutcome> own{nominal[i]};
      std::copy_if(
          outcomes.begin(), outcomes.end(), std::back_inserter(own),
          [&](const SurveyOutcome& each) { return each.situation.stage == steady_stages_[i]; });
      add_group(search, i, toleranced_parts(rig_, steady_stages_[i]), own);
    }
    std::vector<Situation> combined;
    for (const CornerChoice& choice : search.worst(1)) {  // one part alone was run already
      combined.push_back(high_line(steady_stages_[choice.group]));
      combined.back().corner = choice.corner;
    }
    for (const SurveyOutcome& worst : steady_runs(combined, runners)) {
      merge_mirrored(worst);
    }
    survey_.situations.push_back(fmt::format(
        "steady, each of {} stages, high line {:.3g} V rms: nominal, each tolerance by itself, "
        "for every stress the worst corner ({} runs)",
        nominal.size(), rig_.mains().high.si(), nominal.size() + singles.size() + combined.size()));
  }

  [[nodiscard]] std::vector<Corner> own_single_corners(Stage stage) const {
    return single_corners(mirror_.own_parts(toleranced_parts(rig_, stage)));
  }

  /// Outcomes of one group for the search, the copies in stacks merged.
  void add_group(CornerSearch& search, std::size_t group, const std::vector<std::string>& parts,
                 const std::vector<SurveyOutcome>& own) {
    if (!own.front().failure.empty()) {
      return;
    }
    const std::vector<SurveyOutcome> all = mirror_.with_copies(parts, own);
    for (const SurveyOutcome& each : all) {
      if (each.failure.empty()) {
        merge(each);
      }
    }
    search.add(group, parts, stresses_in(all));
  }

  /// The relay of a step start that never closes: every stage, nominal parts.
  void stuck_relay_part() {
    if (!has_step_start(rig_)) {
      return;
    }
    std::vector<SurveyOutcome> outcomes;
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      SteadyRunner runner(engine, rig_);
      for (const Stage stage : steady_stages_) {
        Situation situation = high_line(stage);
        situation.step_relay = netlists::StepRelay::open;
        outcomes.push_back(steady_outcome(runner, situation));
        outcomes.back().words += ", relay of the step start never closes";
      }
    });
    for (const SurveyOutcome& outcome : outcomes) {
      merge(outcome);
    }
    survey_.situations.push_back("steady, every stage, relay of the step start never closes");
  }

  void loss_of_load_part() {
    if (loaded_stage_ <= Stage::heaters || cold_stage_ < Stage::filter) {
      return;
    }
    SurveyOutcome outcome;
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
    }
    const std::vector<SurveyOutcome> outcomes = angle_runs(situations);
    find_worst_angles(situations, outcomes);
    find_brief_time(situations, outcomes);
    survey_.situations.push_back(
        fmt::format("cold switch-on, {}, high line {:.3g} V rms, {} closing angles",
                    netlists::stage_words(cold_stage_), rig_.mains().high.si(), angles_));
    cold_heaters_part();
  }

  /// The first angle over the whole time, the others while the swings of the first last, and those
  /// whose swings turn out longer over the whole time, too.
  std::vector<SurveyOutcome> angle_runs(const std::vector<Situation>& angles) {
    std::vector<SurveyOutcome> outcomes = switch_on_runs({angles.front()}, Depth::whole);
    brief_s_ = brief_switch_on_s(rig_, outcomes.front().stresses, survey_.worst,
                                 switch_on_seconds(rig_, kSwitchOnSeconds));
    const std::vector<SurveyOutcome> others =
        runs_to_the_end_of_swings({angles.begin() + 1, angles.end()});
    outcomes.insert(outcomes.end(), others.begin(), others.end());
    return outcomes;
  }

  std::vector<SurveyOutcome> runs_to_the_end_of_swings(const std::vector<Situation>& angles) {
    std::vector<SurveyOutcome> outcomes = switch_on_runs(angles, Depth::brief);
    const double whole_s = switch_on_seconds(rig_, kSwitchOnSeconds);
    std::vector<std::size_t> longer;
    for (std::size_t i = 0; i < outcomes.size() && brief_s_ < whole_s; ++i) {
      if (outcomes[i].failure.empty() &&
          !swings_are_over(outcomes[i].stresses, survey_.worst, brief_s_)) {
        longer.push_back(i);
      }
    }
    std::vector<Situation> again;
    again.reserve(longer.size());
    for (const std::size_t i : longer) {
      again.push_back(angles[i]);
    }
    const std::vector<SurveyOutcome> whole = switch_on_runs(again, Depth::whole);
    for (std::size_t i = 0; i < longer.size(); ++i) {
      outcomes[longer[i]] = whole[i];
    }
    return outcomes;
  }

  /// The same with all heaters cold in their sockets, which pull the line down.
  void cold_heaters_part() {
    if (!has_heaters_) {
      return;
    }
    std::vector<Situation> situations;
    for (const double angle_deg : worst_angles_) {
      situations.push_back(cold_at(angle_deg, {}));
      situations.back().stage = Stage::heaters;
      situations.back().thermal = netlists::ThermalMode::moving;
    }
    runs_to_the_end_of_swings(situations);
    survey_.situations.push_back(fmt::format(
        "the same with cold heaters in, at the {} worst of these angles", situations.size()));
  }

  void find_brief_time(const std::vector<Situation>& situations,
                       const std::vector<SurveyOutcome>& outcomes) {
    std::vector<Stress> nominal;
    for (std::size_t i = 0; i < situations.size(); ++i) {
      if (worst_angles_.contains(situations[i].closing_angle_deg)) {
        nominal.insert(nominal.end(), outcomes[i].stresses.begin(), outcomes[i].stresses.end());
      }
    }
    brief_s_ =
        brief_switch_on_s(rig_, nominal, survey_.worst, switch_on_seconds(rig_, kSwitchOnSeconds));
  }

  std::vector<SurveyOutcome> switch_on_runs(const std::vector<Situation>& situations, Depth depth) {
    std::vector<SurveyOutcome> outcomes(situations.size());
    planned_ += static_cast<int>(outcomes.size());
    pool_.for_each(outcomes.size(), [&](Engine& engine, std::size_t i) {
      outcomes[i] = switch_on_outcome(engine, situations[i], depth);
      tell_progress();
    });
    for (const SurveyOutcome& outcome : outcomes) {
      merge(outcome);
    }
    return outcomes;
  }

  /// The angle at which each stress was worst; capacitors first, at most 4.
  void find_worst_angles(const std::vector<Situation>& situations,
                         const std::vector<SurveyOutcome>& outcomes) {
    std::map<StressKey, std::pair<double, double>> top;
    for (std::size_t i = 0; i < situations.size(); ++i) {
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
    const std::vector<Corner> corners = own_single_corners(cold_stage_);
    std::vector<Situation> situations;
    for (const double angle : worst_angles_) {
      for (const Corner& corner : corners) {
        situations.push_back(cold_at(angle, corner));
      }
    }
    const std::vector<SurveyOutcome> outcomes = switch_on_runs(situations, Depth::compare);
    CornerSearch search(mirror_.stacks());
    auto first = outcomes.begin();
    for (std::size_t group = 0; group < worst_angles_.size(); ++group) {
      const auto last = first + static_cast<std::ptrdiff_t>(corners.size());
      add_group(search, group, parts, {first, last});
      first = last;
    }
    std::vector<Situation> combined;
    for (const CornerChoice& choice : search.worst(0)) {
      const double angle_deg =
          *std::next(worst_angles_.begin(), static_cast<std::ptrdiff_t>(choice.group));
      combined.push_back(cold_at(angle_deg, choice.corner));
    }
    for (const SurveyOutcome& worst : switch_on_runs(combined, Depth::brief)) {
      merge_mirrored(worst);
    }
    survey_.situations.push_back(fmt::format(
        "cold switch-on at the {} worst closing angles: each tolerance by itself, for every stress "
        "the worst corner ({} runs)",
        worst_angles_.size(), situations.size() + combined.size()));
  }

  void tube_part() {
    TubeSurvey tubes = survey_tubes(rig_, pool_);
    for (TubeOutcome& outcome : tubes.outcomes) {
      merge(SurveyOutcome{std::move(outcome.stresses),
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
  OutcomeMirror mirror_;
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
