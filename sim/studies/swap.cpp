#include "sim/studies/swap.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/margins.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/warm_up.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

constexpr double kRiseShare = 0.9;
constexpr double kRiseSeconds = 2.0;
constexpr double kMostRipple = 0.5;       // of the mean: above, a node is no supply to watch
constexpr double kWorthSaying = 0.01;     // change of a margin or a supply
constexpr double kSeriesAccuracy = 1e-3;  // of the supply's volts
constexpr int kMostSeriesRuns = 30;

/// Mean and ripple of each DC node of one rig at one stage, by name.
struct Supplies {
  struct Figures {
    double mean_v = 0.0, vpp = 0.0;
  };
  std::map<std::string, Figures> by_node;
  std::string failure;
};

Supplies supplies_of(Engine& engine, const core::Rig& rig, Stage stage) {
  Supplies found;
  Situation situation;
  situation.stage = stage;
  try {
    SteadyRunner runner(engine, rig);
    const ReadingSheet sheet = sheet_of(rig, runner.run(situation));
    for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
      const bool settled = sheet.node_vpp[i] < kMostRipple * std::abs(sheet.node_dc_v[i]);
      if (settled && is_dc_node(rig, sheet.nodes[i])) {
        found.by_node[rig.node_name(sheet.nodes[i])] = {sheet.node_dc_v[i], sheet.node_vpp[i]};
      }
    }
  } catch (const core::SimulationError& error) {
    found.failure = error.what();
  }
  return found;
}

/// Stages with filter or load that both rigs have.
std::vector<Stage> common_stages(const core::Rig& before, const core::Rig& after) {
  const std::vector<Stage> ours = netlists::stages_of(before);
  std::vector<Stage> both;
  for (const Stage stage : netlists::stages_of(after)) {
    if (stage >= Stage::filter && std::find(ours.begin(), ours.end(), stage) != ours.end()) {
      both.push_back(stage);
    }
  }
  return both;
}

core::Finding failed_run(const std::string& what) {
  core::Finding finding;
  finding.rule = "simulation";
  finding.quantity = "run";
  finding.note = what;
  return finding;
}

/// Time of a node to its share of where it settles, and its highest volts on the way.
struct Rise {
  double after_s = 0.0, peak_v = 0.0, settled_v = 0.0;
};

/// Supplies that are not there while the rectifier tubes are cold wait for their warm-up.
void add_warm_up(Engine& engine, const core::Rig& rig, Situation situation,
                 std::map<std::string, Rise>& rises) {
  for (const core::Part& part : rig.parts) {
    if (core::rectifier_heater(part) != nullptr) {
      situation.cold_rectifiers.insert(part.designator);
    }
  }
  TransientPlan plan;
  plan.stop_s = kRiseSeconds;
  plan.with_currents = false;
  const RigRun cold = run_transient(engine, rig, situation, plan);
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    const auto node = static_cast<core::NodeIndex>(i);
    const auto found = rises.find(rig.node_name(node));
    if (found != rises.end() &&
        std::abs(cold.node_v(node).back()) < kRiseShare * std::abs(found->second.settled_v)) {
      found->second.after_s += rectifier_warm_up_s(rig);
    }
  }
}

std::map<std::string, Rise> rises_of(Engine& engine, const core::Rig& rig, Stage stage) {
  Situation situation;
  situation.stage = stage;
  situation.closing_angle_deg = 90.0;
  TransientPlan plan;
  plan.stop_s = kRiseSeconds;
  plan.with_currents = false;
  const RigRun run = run_transient(engine, rig, situation, plan);
  std::map<std::string, Rise> rises;
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    const auto node = static_cast<core::NodeIndex>(i);
    if (!run.has_node(node) || !is_dc_node(rig, node)) {
      continue;
    }
    const std::vector<double>& volts = run.node_v(node);
    const double settled_v = volts.back();
    const auto there = std::find_if(volts.begin(), volts.end(), [settled_v](double v) {
      return std::abs(v) >= kRiseShare * std::abs(settled_v) && v * settled_v > 0.0;
    });
    if (there != volts.end()) {
      rises[rig.node_name(node)] = {run.time_s()[static_cast<std::size_t>(there - volts.begin())],
                                    settled_v > 0.0 ? highest_of(volts) : lowest_of(volts),
                                    settled_v};
    }
  }
  if (rectifier_warm_up_s(rig) > 0.0) {
    add_warm_up(engine, rig, situation, rises);
  }
  return rises;
}

/// The supply that changed most in volts under full load, of those that rose.
const SwapReading* risen_supply(const std::vector<SwapReading>& readings, Stage loaded) {
  const SwapReading* most = nullptr;
  for (const SwapReading& reading : readings) {
    const double rise_v = std::abs(reading.after_v) - std::abs(reading.before_v);
    if (reading.stage == loaded && rise_v > kWorthSaying * std::abs(reading.before_v) &&
        (most == nullptr || rise_v > std::abs(most->after_v) - std::abs(most->before_v))) {
      most = &reading;
    }
  }
  return most;
}

/// Finds the resistance by bisection: more of it never raises the supply.
class SeriesFinder {
 public:
  SeriesFinder(Engine& engine, const SwapOptions& options, const SwapReading& wanted)
      : engine_(engine), options_(options), wanted_(wanted) {}

  std::optional<SeriesResistance> find(Stage unloaded) {
    double low_ohm = 0.0;
    double high_ohm = 10.0;
    int runs = 0;
    while (volts_at(high_ohm) > target_v() && ++runs < kMostSeriesRuns) {
      low_ohm = high_ohm;
      high_ohm *= 3.0;
    }
    double ohm = high_ohm;
    for (; runs < kMostSeriesRuns; ++runs) {
      ohm = 0.5 * (low_ohm + high_ohm);
      const double volts = volts_at(ohm);
      if (std::abs(volts - target_v()) < kSeriesAccuracy * target_v()) {
        break;
      }
      (volts > target_v() ? low_ohm : high_ohm) = ohm;
    }
    if (runs >= kMostSeriesRuns) {
      return std::nullopt;
    }
    return finished(ohm, unloaded);
  }

 private:
  [[nodiscard]] double target_v() const { return std::abs(wanted_.before_v); }

  double volts_at(double ohm) {
    const Supplies supplies =
        supplies_of(engine_, options_.with_series(core::Ohms(ohm)), wanted_.stage);
    if (!supplies.failure.empty()) {
      throw core::SimulationError(supplies.failure, {});
    }
    const auto found = supplies.by_node.find(wanted_.node);
    if (found == supplies.by_node.end()) {
      throw core::SimulationError("series resistance: the supply is no longer steady", {});
    }
    return std::abs(found->second.mean_v);
  }

  SeriesResistance finished(double ohm, Stage unloaded) {
    const core::Rig rig = options_.with_series(core::Ohms(ohm));
    SeriesResistance found;
    found.node = wanted_.node;
    found.ohm = ohm;
    found.loaded_v = volts_at(ohm);
    Situation situation;
    situation.stage = wanted_.stage;
    SteadyRunner runner(engine_, rig);
    const SteadyRun run = runner.run(situation);
    // the resistor is the last part of the changed record
    const int part = static_cast<int>(rig.parts.size()) - 1;
    found.watts = dissipation_w(rig, run.cycle, part).value_or(0.0);
    const Supplies light = supplies_of(engine_, rig, unloaded);
    const auto node = light.by_node.find(wanted_.node);
    found.unloaded_v = node == light.by_node.end() ? 0.0 : std::abs(node->second.mean_v);
    return found;
  }

  Engine& engine_;
  const SwapOptions& options_;
  const SwapReading& wanted_;
};

int badness(const std::optional<core::Finding>& finding) {
  if (!finding) {
    return 0;
  }
  return finding->verdict == core::Verdict::unsafe       ? 3
         : finding->verdict == core::Verdict::no_verdict ? 2
                                                         : 1;
}

std::vector<MarginChange> changes_of(const std::vector<core::Finding>& before,
                                     const std::vector<core::Finding>& after) {
  std::map<std::pair<std::string, std::string>, MarginChange> pairs;
  for (const core::Finding& finding : before) {
    pairs[{finding.rule, finding.part}].before = finding;
  }
  for (const core::Finding& finding : after) {
    pairs[{finding.rule, finding.part}].after = finding;
  }
  std::vector<MarginChange> changes;
  for (auto& [key, change] : pairs) {
    const bool same =
        change.before && change.after && change.before->verdict == change.after->verdict &&
        std::abs(change.before->margin().value_or(0.0) - change.after->margin().value_or(0.0)) <
            kWorthSaying;
    if (!same) {
      changes.push_back(std::move(change));
    }
  }
  std::stable_sort(changes.begin(), changes.end(),
                   [](const MarginChange& a, const MarginChange& b) {
                     if (badness(a.after) != badness(b.after)) {
                       return badness(a.after) > badness(b.after);
                     }
                     const auto margin = [](const MarginChange& change) {
                       return change.after ? change.after->margin().value_or(1.0) : 2.0;
                     };
                     return margin(a) < margin(b);
                   });
  return changes;
}

/// Runs the parts of the study one after the other.
class Swapper {
 public:
  Swapper(const core::Rig& before, const core::Rig& after, const SwapOptions& options,
          WorkerPool& pool)
      : before_(before),
        after_(after),
        options_(options),
        pool_(pool),
        stages_(common_stages(before, after)) {}

  SwapResult run() {
    read_supplies();
    read_rises();
    find_series();
    MarginsOptions survey;
    survey.closing_angles = options_.closing_angles;
    survey.progress = options_.progress;
    const MarginsResult first = margins(before_, survey, pool_);
    MarginsResult second = margins(after_, survey, pool_);
    result_.margins = changes_of(first.findings, second.findings);
    result_.findings.insert(result_.findings.end(), second.findings.begin(), second.findings.end());
    result_.assumptions = second.assumptions;
    return std::move(result_);
  }

 private:
  void read_supplies() {
    std::vector<Supplies> before(stages_.size());
    std::vector<Supplies> after(stages_.size());
    pool_.for_each(2 * stages_.size(), [&](Engine& engine, std::size_t k) {
      const bool second = k >= stages_.size();
      const std::size_t i = second ? k - stages_.size() : k;
      (second ? after : before)[i] = supplies_of(engine, second ? after_ : before_, stages_[i]);
    });
    for (std::size_t i = 0; i < stages_.size(); ++i) {
      for (const Supplies* each : {&before[i], &after[i]}) {
        if (!each->failure.empty()) {
          result_.findings.push_back(failed_run(each->failure));
        }
      }
      for (const auto& [node, figures] : before[i].by_node) {
        const auto found = after[i].by_node.find(node);
        if (found != after[i].by_node.end()) {
          result_.readings.push_back({node, stages_[i], figures.mean_v, found->second.mean_v,
                                      figures.vpp, found->second.vpp});
        }
      }
    }
  }

  void read_rises() {
    Stage idle = Stage::filter;
    for (const Stage stage : stages_) {
      idle = stage <= Stage::heaters ? stage : idle;
    }
    std::vector<std::map<std::string, Rise>> rises(2);
    std::vector<std::string> failures(2);
    pool_.for_each(2, [&](Engine& engine, std::size_t i) {
      try {
        rises[i] = rises_of(engine, i == 0 ? before_ : after_, idle);
      } catch (const core::SimulationError& error) {
        failures[i] = error.what();
      }
    });
    for (const std::string& failure : failures) {
      if (!failure.empty()) {
        result_.findings.push_back(failed_run(failure));
      }
    }
    const auto watched = [this](const std::string& node) {
      return std::any_of(result_.readings.begin(), result_.readings.end(),
                         [&node](const SwapReading& reading) { return reading.node == node; });
    };
    for (const auto& [node, rise] : rises[0]) {
      if (!watched(node)) {
        continue;
      }
      const auto found = rises[1].find(node);
      if (found != rises[1].end()) {
        result_.rises.push_back(
            {node, rise.after_s, found->second.after_s, rise.peak_v, found->second.peak_v});
      }
    }
  }

  void find_series() {
    if (!options_.with_series || stages_.empty()) {
      return;
    }
    const SwapReading* risen = risen_supply(result_.readings, stages_.back());
    if (risen == nullptr) {
      return;
    }
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      try {
        result_.series = SeriesFinder(engine, options_, *risen).find(stages_.front());
      } catch (const core::SimulationError& error) {
        result_.findings.push_back(failed_run(error.what()));
      }
    });
  }

  const core::Rig& before_;
  const core::Rig& after_;
  const SwapOptions& options_;
  WorkerPool& pool_;
  std::vector<Stage> stages_;
  SwapResult result_;
};

}  // namespace

SwapResult swap(const core::Rig& before, const core::Rig& after, const SwapOptions& options,
                WorkerPool& pool) {
  return Swapper(before, after, options, pool).run();
}

}  // namespace firstglow::sim
