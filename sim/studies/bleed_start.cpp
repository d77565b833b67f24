#include "sim/studies/bleed_start.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <set>

#include "core/error.hpp"
#include "sim/studies/bleed_moments.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
#include "sim/studies/start_outcome.hpp"
#include "sim/studies/steady_starts.hpp"
#include "sim/studies/switch_on_time.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

constexpr double kSwitchOnSeconds = 0.6;
constexpr double kLongSwitchOnSeconds = 4.0;
constexpr double kEarlyShare = 0.75;  ///< of a run: later peaks may not be the last
constexpr double kStillRises = 1e-3;  ///< of the peak, over the last quarter
constexpr int kAngles = 8;
/// Angles count as different for a capacitor when they move its peak by more than this part.
constexpr double kAngleMatters = 0.005;

TransientPlan switch_on_plan(double stop_s) {
  TransientPlan plan;
  plan.stop_s = stop_s;
  plan.steps_per_cycle = kStartSteps;
  plan.with_currents = false;
  plan.capacitors_only = true;
  return plan;
}

class StartFinder {
 public:
  StartFinder(const core::Rig& rig, WorkerPool& pool, const Progress& progress)
      : rig_(rig),
        pool_(pool),
        progress_(progress),
        cold_stage_(last_cold_stage(rig)),
        steady_(rig, cold_stage_) {}

  WorstStart run() {
    result_.worst_cold = cold_at(0.0, {});
    // the first angle is followed over the whole time, beside the first steady state
    std::vector<StartOutcome> angles(kAngles);
    for (int i = 0; i < kAngles; ++i) {
      angles[static_cast<std::size_t>(i)] = planned(cold_at(360.0 * i / kAngles, {}));
    }
    std::vector<StartJob> first = steady_.cold_jobs();
    first.push_back(switch_on_job(angles.front(), kSwitchOnSeconds));
    run_jobs(first);
    run_jobs(steady_.other_jobs());
    run_jobs(steady_.single_jobs());
    run_jobs(steady_.combined_jobs());
    for (const StartOutcome* outcome : steady_.outcomes()) {
      merge(*outcome, false);
    }
    steady_v_ = peaks_of(result_.moments);
    other_angles(angles);
    tolerance_part(worst_angles(angles), brief_seconds(angles));
    result_.near = steady_.cold();
    result_.moments = raised(std::move(result_.moments));
    for (auto& [part, duty] : result_.duty) {
      duty.volts_dc *= 1.0 + kStartError;
      duty.watts *= (1.0 + kStartError) * (1.0 + kStartError);
    }
    return std::move(result_);
  }

 private:
  static Stage last_cold_stage(const core::Rig& rig) {
    const std::vector<Stage> stages = netlists::stages_of(rig);
    return *std::find_if(stages.rbegin(), stages.rend(),
                         [](Stage stage) { return stage <= Stage::tubes_out; });
  }

  [[nodiscard]] Situation cold_at(double angle_deg, const Corner& corner) const {
    Situation situation;
    situation.stage = cold_stage_;
    situation.line = rig_.mains().high;
    situation.closing_angle_deg = angle_deg;
    situation.corner = corner;
    return situation;
  }

  [[nodiscard]] StartOutcome planned(const Situation& situation) const {
    return {situation, switch_on_words(rig_, situation)};
  }

  void run_jobs(const std::vector<StartJob>& jobs) {
    planned_ += static_cast<int>(jobs.size());
    pool_.for_each(jobs.size(), [&](Engine& engine, std::size_t i) {
      jobs[i](engine);
      const std::scoped_lock lock(mutex_);
      ++done_;
      if (progress_) {
        progress_(done_, planned_);
      }
    });
  }

  void merge(const StartOutcome& outcome, bool cold) {
    if (!outcome.failure.empty()) {
      result_.failures.push_back(outcome.words + ": " + outcome.failure);
      return;
    }
    for (const ChargeMoment& moment : outcome.moments) {
      result_.moments.push_back(moment);
      if (outcome.situation.corner.empty()) {
        result_.nominal.push_back(moment);
      }
    }
    for (const auto& [part, volts] : outcome.peak_v) {
      if (volts > highest_v_) {
        highest_v_ = volts;
        result_.words = outcome.words;
      }
      if (cold && volts > highest_cold_v_) {
        highest_cold_v_ = volts;
        result_.worst_cold = outcome.situation;
      }
    }
    for (const auto& [part, duty] : outcome.duty) {
      BleederDuty& worst = result_.duty[part];
      worst.volts_dc = std::max(worst.volts_dc, duty.volts_dc);
      worst.watts = std::max(worst.watts, duty.watts);
    }
  }

  /// Does a steady state leave as much in the capacitor, or more?
  [[nodiscard]] bool steady_reaches(int part, double volts) const {
    const auto steady = steady_v_.find(part);
    return steady != steady_v_.end() && volts <= steady->second;
  }

  /// Are the swings of a run over: did every capacitor peak well before its end, or lower than a
  /// steady state? A whole switch-on is not asked.
  [[nodiscard]] bool over(const StartOutcome& outcome, double stop_s) const {
    return stop_s >= kSwitchOnSeconds ||
           std::all_of(outcome.peak_v.begin(), outcome.peak_v.end(), [&](const auto& peak) {
             return steady_reaches(peak.first, peak.second) ||
                    outcome.peak_at_s.at(peak.first) < kEarlyShare * stop_s;
           });
  }

  /// How long a switch-on is followed that differs from these in its angle or in tolerances.
  [[nodiscard]] double brief_seconds(const std::vector<StartOutcome>& nominal) const {
    std::map<StressKey, WorstStress> steady;
    for (const auto& [part, volts] : steady_v_) {
      steady[{part, 0, StressRule::capacitor_working_volts}].value = volts;
    }
    std::vector<Stress> peaks;
    for (const StartOutcome& outcome : nominal) {
      for (const auto& [part, volts] : outcome.peak_v) {
        peaks.push_back(
            {part, 0, StressRule::capacitor_surge_volts, volts, outcome.peak_at_s.at(part)});
      }
    }
    return brief_switch_on_s(rig_, peaks, steady, kSwitchOnSeconds);
  }

  [[nodiscard]] StartJob switch_on_job(StartOutcome& outcome, double stop_s) const {
    return [this, &outcome, stop_s](Engine& engine) {
      try {
        const RigRun run = run_transient(engine, rig_, outcome.situation, switch_on_plan(stop_s));
        outcome.moments = moments_of(rig_, run);
        outcome.peak_v = peaks_of(outcome.moments);
        outcome.peak_at_s = peak_times_of(rig_, run);
      } catch (const core::SimulationError& error) {
        outcome.failure = error.what();
      }
    };
  }

  void run_switch_ons(const std::vector<StartOutcome*>& outcomes, double stop_s) {
    std::vector<StartJob> jobs;
    jobs.reserve(outcomes.size());
    for (StartOutcome* outcome : outcomes) {
      jobs.push_back(switch_on_job(*outcome, stop_s));
    }
    run_jobs(jobs);
  }

  /// The other angles, while the swings of the first last, and longer where they turn out to swing
  /// longer.
  void other_angles(std::vector<StartOutcome>& angles) {
    const double brief_s = brief_seconds({angles.front()});
    std::vector<StartOutcome*> others;
    for (std::size_t i = 1; i < angles.size(); ++i) {
      others.push_back(&angles[i]);
    }
    run_switch_ons(others, brief_s);
    std::erase_if(others, [&](StartOutcome* outcome) { return over(*outcome, brief_s); });
    run_switch_ons(others, kSwitchOnSeconds);
    for (const StartOutcome& outcome : angles) {
      merge(outcome, true);
    }
  }

  /// The angle at which each capacitor peaks, where the angle matters and no steady state leaves as
  /// much; else the first one.
  [[nodiscard]] std::set<double> worst_angles(const std::vector<StartOutcome>& outcomes) const {
    struct Spread {
      double low_v = 1e300, high_v = 0.0, angle_deg = 0.0;
    };
    std::map<int, Spread> spreads;
    for (const StartOutcome& outcome : outcomes) {
      for (const auto& [part, volts] : outcome.peak_v) {
        Spread& spread = spreads[part];
        spread.low_v = std::min(spread.low_v, volts);
        if (volts > spread.high_v * (1.0 + 1e-6)) {
          spread.high_v = volts;
          spread.angle_deg = outcome.situation.closing_angle_deg;
        }
      }
    }
    std::set<double> angles;
    for (const auto& [part, spread] : spreads) {
      if (spread.high_v - spread.low_v > kAngleMatters * spread.high_v &&
          !steady_reaches(part, spread.high_v)) {
        angles.insert(spread.angle_deg);
      }
    }
    return angles.empty() ? std::set<double>{0.0} : angles;
  }

  void tolerance_part(const std::set<double>& angles, double stop_s) {
    const std::vector<std::string> parts = toleranced_parts(rig_, cold_stage_);
    std::vector<std::vector<StartOutcome>> singles;
    for (const double angle_deg : angles) {
      std::vector<StartOutcome>& row = singles.emplace_back();
      for (const Corner& corner : single_corners(parts)) {
        row.push_back(planned(cold_at(angle_deg, corner)));
      }
    }
    follow(singles, stop_s);
    std::vector<std::vector<StartOutcome>> combined(singles.size());
    for (std::size_t i = 0; i < singles.size(); ++i) {
      const double angle_deg = singles[i].front().situation.closing_angle_deg;
      for (const Corner& corner : combined_corners(parts, singles[i])) {
        combined[i].push_back(planned(cold_at(angle_deg, corner)));
      }
    }
    follow(combined, stop_s);
  }

  void follow(std::vector<std::vector<StartOutcome>>& rows, double stop_s) {
    std::vector<StartOutcome*> all;
    for (std::vector<StartOutcome>& row : rows) {
      for (StartOutcome& outcome : row) {
        all.push_back(&outcome);
      }
    }
    run_switch_ons(all, stop_s);
    for (const StartOutcome* outcome : all) {
      merge(*outcome, true);
    }
  }

  const core::Rig& rig_;
  WorkerPool& pool_;
  const Progress& progress_;
  Stage cold_stage_;
  SteadyStarts steady_;
  std::map<int, double> steady_v_;  ///< highest of all steady situations
  WorstStart result_;
  double highest_v_ = -1.0, highest_cold_v_ = -1.0;
  std::mutex mutex_;
  int done_ = 0, planned_ = 0;
};

/// Moments of a long cold switch-on. @throws SimulationError when its peaks still rise at the end.
std::vector<ChargeMoment> moments_of_long_run(Engine& engine, const core::Rig& rig,
                                              const Situation& situation) {
  std::map<int, double> before;
  std::vector<ChargeMoment> moments;
  for (const double share : {0.75, 1.0}) {
    const TransientPlan plan = switch_on_plan(share * kLongSwitchOnSeconds);
    moments = moments_of(rig, run_transient(engine, rig, situation, plan));
    const std::map<int, double> peaks = peaks_of(moments);
    for (const auto& [part, peak_v] : before) {
      if (peaks.at(part) > peak_v * (1.0 + kStillRises)) {
        throw core::SimulationError(
            "with nothing left to draw from it a rail still rises after a long switch-on; its "
            "highest volts were not found",
            {});
      }
    }
    before = peaks;
  }
  return moments;
}

}  // namespace

WorstStart worst_start(const core::Rig& rig, WorkerPool& pool, const Progress& progress) {
  return StartFinder(rig, pool, progress).run();
}

void stand_at_worst(Engine& engine, const core::Rig& rig, WorstStart& start) {
  auto runner = std::make_shared<SteadyRunner>(engine, rig, kStartEffort);
  runner->start_from(*start.near);
  try {
    static_cast<void>(runner->run(start.worst_cold));
    start.near = std::move(runner);
  } catch (const core::SimulationError&) {
    // what has no steady state helps nobody to find one
  }
}

std::vector<ChargeMoment> switch_on_with_open(Engine& engine, const core::Rig& rig,
                                              const std::string& path, const WorstStart& start) {
  Situation situation = start.worst_cold;
  situation.lifted.insert(path);
  return raised(
      moments_of(rig, run_transient(engine, rig, situation, switch_on_plan(kSwitchOnSeconds))));
}

std::vector<ChargeMoment> steady_with_open(Engine& engine, const core::Rig& rig,
                                           const std::string& path, const WorstStart& start) {
  Situation situation = start.worst_cold;
  situation.lifted.insert(path);
  try {
    SteadyRunner runner(engine, rig, kStartEffort);
    runner.start_near(*start.near);
    return raised(moments_of(rig, runner.run(situation).cycle));
  } catch (const core::SimulationError&) {
    return raised(moments_of_long_run(engine, rig, situation));
  }
}

}  // namespace firstglow::sim
