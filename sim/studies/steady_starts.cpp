#include "sim/studies/steady_starts.hpp"

#include <algorithm>
#include <cmath>

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

/// `point`, moved by a share of the way from one point to another; ohms by their logarithms.
PeriodicPoint carried_on(PeriodicPoint point, const PeriodicPoint& from, const PeriodicPoint& to,
                         double share) {
  if (to.state.size() != point.state.size() || to.warm_ohm.size() != point.warm_ohm.size()) {
    return point;
  }
  for (std::size_t i = 0; i < point.state.size(); ++i) {
    point.state[i] += share * (to.state[i] - from.state[i]);
  }
  for (std::size_t i = 0; i < point.warm_ohm.size(); ++i) {
    point.warm_ohm[i] *= std::pow(to.warm_ohm[i] / from.warm_ohm[i], share);
  }
  return point;
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

SteadyStarts::Found SteadyStarts::found(SteadyRunner& runner, Stage stage,
                                        const Corner& corner) const {
  Found result;
  StartOutcome& outcome = result.outcome;
  outcome.situation.stage = stage;
  outcome.situation.line = rig_.mains().high;
  outcome.situation.corner = corner;
  outcome.words = steady_words(rig_, outcome.situation);
  try {
    const SteadyRun run = runner.run(outcome.situation);
    outcome.moments = moments_of(rig_, run.cycle);
    outcome.peak_v = peaks_of(outcome.moments);
    outcome.duty = duties_of(rig_, run.cycle);
    result.point = run.point;
  } catch (const core::SimulationError& error) {
    outcome.failure = error.what();
  }
  return result;
}

void SteadyStarts::find_nominal(Chain& chain) {
  Found nominal = found(*chain.nominal, chain.stage, {});
  const std::size_t singles = single_corners(chain.parts).size();
  chain.singles.resize(singles);
  chain.points.resize(singles);
  chain.singles.front() = std::move(nominal.outcome);
  chain.points.front() = std::move(nominal.point);
}

/// The second end begins as far from nominal as the first one went, on the other side.
void SteadyStarts::find_both_ends(Engine& engine, Chain& chain, std::size_t part) {
  const std::optional<PeriodicPoint>& nominal = chain.points.front();
  for (const std::size_t k : {2 * part + 1, 2 * part + 2}) {
    SteadyRunner runner(engine, rig_, kStartEffort);
    const std::optional<PeriodicPoint>& other = chain.points[2 * part + 1];
    if (nominal && other) {
      runner.start_from(*chain.nominal, carried_on(*nominal, *nominal, *other, -1.0));
    } else {
      runner.start_from(*chain.nominal);
    }
    Found end = found(runner, chain.stage, single_corners(chain.parts)[k]);
    chain.singles[k] = std::move(end.outcome);
    chain.points[k] = std::move(end.point);
  }
}

/// Begins where the effects of its parts, one at a time, add up to.
StartOutcome SteadyStarts::corner_of(Engine& engine, const Chain& chain,
                                     const Corner& corner) const {
  SteadyRunner runner(engine, rig_, kStartEffort);
  runner.start_from(*chain.nominal);
  if (const std::optional<PeriodicPoint>& nominal = chain.points.front()) {
    PeriodicPoint guess = *nominal;
    for (std::size_t part = 0; part < chain.parts.size(); ++part) {
      const auto end = corner.find(chain.parts[part]);
      if (end == corner.end()) {
        continue;
      }
      if (const auto& single = chain.points[2 * part + (end->second > 0.0 ? 2 : 1)]) {
        guess = carried_on(guess, *nominal, *single, 1.0);
      }
    }
    runner.start_from(*chain.nominal, std::move(guess));
  }
  return found(runner, chain.stage, corner).outcome;
}

std::vector<StartJob> SteadyStarts::cold_jobs() {
  return {[this](Engine& engine) {
    Chain& chain = chains_.front();
    chain.nominal = std::make_shared<SteadyRunner>(engine, rig_, kStartEffort);
    find_nominal(chain);
  }};
}

std::vector<StartJob> SteadyStarts::other_jobs() {
  std::vector<StartJob> jobs;
  for (std::size_t i = 1; i < chains_.size(); ++i) {
    jobs.emplace_back([this, i](Engine& engine) {
      Chain& chain = chains_[i];
      chain.nominal = std::make_shared<SteadyRunner>(engine, rig_, kStartEffort);
      chain.nominal->start_near(*cold());
      find_nominal(chain);
    });
  }
  return jobs;
}

std::vector<StartJob> SteadyStarts::single_jobs() {
  std::vector<StartJob> jobs;
  for (Chain& chain : chains_) {
    for (std::size_t part = 0; part < chain.parts.size(); ++part) {
      jobs.emplace_back(
          [this, &chain, part](Engine& engine) { find_both_ends(engine, chain, part); });
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
