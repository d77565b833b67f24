#include "sim/studies/tube_survey.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
#include "sim/studies/tolerance.hpp"
#include "sim/studies/tube_stress.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

template <class Kind>
bool has_kind(const core::Rig& rig) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [](const core::Part& part) {
    return std::holds_alternative<Kind>(part.data);
  });
}

TubeOutcome outcome_of(SteadyRunner& runner, const core::Rig& rig, const Situation& situation) {
  TubeOutcome outcome;
  outcome.words = steady_words(rig, situation);
  try {
    outcome.stresses = stresses_of(rig, runner.run(situation).cycle, RunKind::steady);
  } catch (const core::SimulationError& error) {
    outcome.failure = error.what();
  }
  return outcome;
}

void keep_floors(TubeOutcome& outcome) {
  std::erase_if(outcome.stresses, [](const Stress& stress) { return !is_floor(stress.rule); });
}

// ---- low line ------------------------------------------------------------------------------

/// One stage at low line: nominal, each tolerance by itself, the corners that starve most.
std::vector<TubeOutcome> low_line_chain(Engine& engine, const core::Rig& rig, Stage stage) {
  SteadyRunner runner(engine, rig);
  const std::vector<std::string> parts = toleranced_parts(rig, stage);
  Situation situation;
  situation.stage = stage;
  situation.line = rig.mains().low;
  std::vector<TubeOutcome> outcomes;
  const auto run_corner = [&](const Corner& corner) {
    situation.corner = corner;
    outcomes.push_back(outcome_of(runner, rig, situation));
    keep_floors(outcomes.back());
    return outcomes.back().failure.empty();
  };
  for (const Corner& corner : single_corners(parts)) {
    if (!run_corner(corner)) {
      return outcomes;  // a missing figure would look like no effect
    }
  }
  std::vector<std::vector<double>> figures;
  for (const TubeOutcome& outcome : outcomes) {
    figures.emplace_back();
    for (const Stress& stress : outcome.stresses) {
      figures.back().push_back(stress.value);
    }
  }
  for (const Corner& corner : worst_corners(Sensitivity(parts, std::move(figures)))) {
    run_corner(corner);
  }
  return outcomes;
}

// ---- faults --------------------------------------------------------------------------------

/// One fault of one tube: the situation, and which rule stands for which in it.
struct Fault {
  int part = -1;
  Situation situation;
  std::string words;
  std::vector<std::pair<StressRule, StressRule>> rules;
};

void keep_fault_rules(const Fault& fault, TubeOutcome& outcome) {
  std::vector<Stress> kept;
  for (const Stress& stress : outcome.stresses) {
    for (const auto& [usual, in_fault] : fault.rules) {
      if (stress.part == fault.part && stress.rule == usual) {
        kept.push_back(stress);
        kept.back().rule = in_fault;
      }
    }
  }
  outcome.stresses = std::move(kept);
}

Fault bias_missing(const core::Rig& rig, int index, const core::PowerTube& tube) {
  const std::string& name = rig.parts[static_cast<std::size_t>(index)].designator;
  Fault fault;
  fault.part = index;
  // the key of a keyed tube is down, or it could not draw
  fault.situation.stage = tube.key == core::TubeKey::none ? Stage::key_up : Stage::key_down;
  fault.situation.line = rig.mains().high;
  fault.situation.unbiased = {name};
  fault.words = fmt::format("bias of {} missing (grid at the chassis, no drive): ", name);
  fault.rules = {{StressRule::tube_plate_watts, StressRule::tube_unbiased_plate_watts}};
  if (!tube.triode) {
    fault.rules.emplace_back(StressRule::tube_screen_watts, StressRule::tube_unbiased_screen_watts);
  }
  return fault;
}

Fault plate_open(const core::Rig& rig, int index) {
  const std::string& name = rig.parts[static_cast<std::size_t>(index)].designator;
  Fault fault;
  fault.part = index;
  fault.situation.stage = Stage::key_down;
  fault.situation.line = rig.mains().high;
  fault.situation.plate_open = {name};
  fault.words = fmt::format("plate lead of {} open, screen still fed: ", name);
  fault.rules = {{StressRule::tube_screen_watts, StressRule::tube_open_plate_screen_watts}};
  return fault;
}

std::vector<Fault> faults_of(const core::Rig& rig) {
  std::vector<Fault> faults;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* tube = std::get_if<core::PowerTube>(&rig.parts[i].data);
    if (tube == nullptr) {
      continue;
    }
    const auto index = static_cast<int>(i);
    if (tube->grid > core::kChassis) {
      faults.push_back(bias_missing(rig, index, *tube));
    }
    if (!tube->triode && tube->screen > core::kChassis && tube->screen != tube->plate) {
      faults.push_back(plate_open(rig, index));
    }
  }
  return faults;
}

}  // namespace

TubeSurvey survey_tubes(const core::Rig& rig, WorkerPool& pool) {
  TubeSurvey survey;
  std::vector<Stage> stages;
  if (has_kind<core::VrTube>(rig)) {
    for (const Stage stage : netlists::stages_of(rig)) {
      if (stage >= Stage::tubes_out) {
        stages.push_back(stage);
      }
    }
  }
  const std::vector<Fault> faults = faults_of(rig);
  std::vector<std::vector<TubeOutcome>> outcomes(stages.size() + faults.size());
  pool.for_each(outcomes.size(), [&](Engine& engine, std::size_t i) {
    if (i < stages.size()) {
      outcomes[i] = low_line_chain(engine, rig, stages[i]);
      return;
    }
    const Fault& fault = faults[i - stages.size()];
    SteadyRunner runner(engine, rig);
    TubeOutcome outcome = outcome_of(runner, rig, fault.situation);
    outcome.words = fault.words + outcome.words;
    keep_fault_rules(fault, outcome);
    outcomes[i] = {std::move(outcome)};
  });
  for (std::vector<TubeOutcome>& chain : outcomes) {
    for (TubeOutcome& outcome : chain) {
      survey.outcomes.push_back(std::move(outcome));
    }
  }
  if (!stages.empty()) {
    survey.situations.push_back(fmt::format(
        "steady, low line {:.3g} V rms, for the regulators: each stage from tubes out, each "
        "tolerance by itself, worst corners",
        rig.mains().low.si()));
  }
  if (!faults.empty()) {
    survey.situations.push_back(fmt::format(
        "steady, high line {:.3g} V rms: bias of each tube missing; plate lead of each tube with a "
        "screen open ({} runs)",
        rig.mains().high.si(), faults.size()));
  }
  return survey;
}

}  // namespace firstglow::sim
