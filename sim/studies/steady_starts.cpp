#include "sim/studies/steady_starts.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "sim/studies/situation_words.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

std::vector<std::string> toleranced_bleeders(const core::Rig& rig, Stage stage) {
  std::vector<std::string> parts = toleranced_parts(rig, stage);
  std::erase_if(parts, [&](const std::string& name) {
    const auto* resistor = std::get_if<core::Resistor>(&rig.find(name)->data);
    return resistor == nullptr || !bleeds(*resistor);
  });
  return parts;
}

}  // namespace

SteadyStarts::SteadyStarts(const core::Rig& rig, Stage cold_stage) : rig_(rig) {
  chains_.push_back({cold_stage, toleranced_parts(rig, cold_stage)});
  for (const Stage stage : netlists::stages_of(rig)) {
    if (stage >= Stage::filter && stage != cold_stage) {
      chains_.push_back({stage, toleranced_bleeders(rig, stage)});
    }
  }
}

StartOutcome SteadyStarts::found(SteadyRunner& runner, Stage stage, const Corner& corner) const {
  StartOutcome outcome;
  outcome.situation.stage = stage;
  outcome.situation.line = rig_.mains().high;
  outcome.situation.corner = corner;
  outcome.words = steady_words(rig_, outcome.situation);
  try {
    const SteadyRun run = runner.run(outcome.situation);
    outcome.moments = moments_of(rig_, run.cycle);
    outcome.peak_v = peaks_of(outcome.moments);
    outcome.duty = duties_of(rig_, run.cycle);
  } catch (const core::SimulationError& error) {
    outcome.failure = error.what();
  }
  return outcome;
}

StartOutcome SteadyStarts::corner_of(Engine& engine, const Chain& chain,
                                     const Corner& corner) const {
  SteadyRunner runner(engine, rig_, kStartEffort);
  runner.start_from(*chain.nominal);
  return found(runner, chain.stage, corner);
}

std::vector<StartJob> SteadyStarts::cold_jobs() {
  return {[this](Engine& engine) {
    Chain& chain = chains_.front();
    chain.nominal = std::make_shared<SteadyRunner>(engine, rig_, kStartEffort);
    chain.singles = {found(*chain.nominal, chain.stage, {})};
  }};
}

std::vector<StartJob> SteadyStarts::other_jobs() {
  std::vector<StartJob> jobs;
  for (std::size_t i = 1; i < chains_.size(); ++i) {
    jobs.emplace_back([this, i](Engine& engine) {
      Chain& chain = chains_[i];
      chain.nominal = std::make_shared<SteadyRunner>(engine, rig_, kStartEffort);
      chain.nominal->start_near(*cold());
      chain.singles = {found(*chain.nominal, chain.stage, {})};
    });
  }
  return jobs;
}

std::vector<StartJob> SteadyStarts::single_jobs() {
  std::vector<StartJob> jobs;
  for (Chain& chain : chains_) {
    const std::vector<Corner> singles = single_corners(chain.parts);
    chain.singles.resize(singles.size());
    for (std::size_t k = 1; k < singles.size(); ++k) {  // the first is nominal
      jobs.emplace_back([this, &chain, k, corner = singles[k]](Engine& engine) {
        chain.singles[k] = corner_of(engine, chain, corner);
      });
    }
  }
  return jobs;
}

std::vector<StartJob> SteadyStarts::combined_jobs() {
  std::vector<StartJob> jobs;
  for (Chain& chain : chains_) {
    const std::set<Corner> corners = combined_corners(chain.parts, chain.singles);
    chain.combined.resize(corners.size());
    std::size_t k = 0;
    for (const Corner& corner : corners) {
      jobs.emplace_back([this, &chain, k, corner](Engine& engine) {
        chain.combined[k] = corner_of(engine, chain, corner);
      });
      ++k;
    }
  }
  return jobs;
}

std::vector<const StartOutcome*> SteadyStarts::outcomes() const {
  std::vector<const StartOutcome*> all;
  for (const Chain& chain : chains_) {
    for (const auto* list : {&chain.singles, &chain.combined}) {
      for (const StartOutcome& outcome : *list) {
        all.push_back(&outcome);
      }
    }
  }
  return all;
}

}  // namespace firstglow::sim
