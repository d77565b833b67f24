#include "sim/studies/bleed_start.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <set>

#include "core/error.hpp"
#include "sim/studies/bleed_moments.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
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
constexpr int kStepsPerCycle = 200;
/// Angles count as different for a capacitor when they move its peak by more than this part.
constexpr double kAngleMatters = 0.005;

struct Outcome {
  std::vector<ChargeMoment> moments;
  std::map<int, double> peak_v;  ///< magnitude
  std::map<int, double> peak_at_s = {};
  std::map<int, BleederDuty> duty;
  std::string words, failure;
  Situation situation;
};

TransientPlan switch_on_plan(double stop_s) {
  TransientPlan plan;
  plan.stop_s = stop_s;
  plan.steps_per_cycle = kStepsPerCycle;
  plan.with_currents = false;
  return plan;
}

/// Are the swings of a run over: did every capacitor peak well before its end, or lower than it
/// stands in the end? A whole switch-on is not asked.
bool over(const std::map<int, double>& peak_v, const std::map<int, double>& peak_at_s,
          const std::map<int, double>& steady_v, double stop_s) {
  return stop_s >= kSwitchOnSeconds ||
         std::all_of(peak_v.begin(), peak_v.end(), [&](const auto& peak) {
           const auto steady = steady_v.find(peak.first);
           return (steady != steady_v.end() && peak.second <= steady->second) ||
                  peak_at_s.at(peak.first) < kEarlyShare * stop_s;
         });
}

class StartFinder {
 public:
  StartFinder(const core::Rig& rig, WorkerPool& pool, const Progress& progress)
      : rig_(rig), pool_(pool), progress_(progress) {}

  WorstStart run() {
    const auto stages = netlists::stages_of(rig_);
    result_.worst_cold = cold_at(0.0, {});
    cold_stage_ = *std::find_if(stages.rbegin(), stages.rend(),
                                [](Stage stage) { return stage <= Stage::tubes_out; });
    steady_part(stages);
    std::vector<Situation> angles;
    angles.reserve(kAngles);
    for (int i = 0; i < kAngles; ++i) {
      angles.push_back(cold_at(360.0 * i / kAngles, {}));
    }
    const std::map<int, double> steady_v = peaks_of(result_.moments);
    const std::vector<Outcome> nominal = angle_runs(angles, steady_v);
    tolerance_part(worst_angles(angles, nominal), brief_seconds(nominal, steady_v));
    stand_beside();
    return std::move(result_);
  }

 private:
  [[nodiscard]] Situation cold_at(double angle_deg, const Corner& corner) const {
    Situation situation;
    situation.stage = cold_stage_;
    situation.line = rig_.mains().high;
    situation.closing_angle_deg = angle_deg;
    situation.corner = corner;
    return situation;
  }

  void tell_progress() {
    const std::scoped_lock lock(mutex_);
    ++done_;
    if (progress_) {
      progress_(done_, std::max(done_, planned_));
    }
  }

  void merge(const Outcome& outcome, const Situation& situation, bool cold) {
    if (!outcome.failure.empty()) {
      result_.failures.push_back(outcome.words + ": " + outcome.failure);
      return;
    }
    for (const ChargeMoment& moment : outcome.moments) {
      result_.moments.push_back(moment);
      if (situation.corner.empty()) {
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
        result_.worst_cold = situation;
      }
    }
    for (const auto& [part, duty] : outcome.duty) {
      BleederDuty& worst = result_.duty[part];
      worst.volts_dc = std::max(worst.volts_dc, duty.volts_dc);
      worst.watts = std::max(worst.watts, duty.watts);
    }
  }

  Outcome steady_outcome(SteadyRunner& runner, const Situation& situation) const {
    Outcome outcome;
    outcome.words = steady_words(rig_, situation);
    outcome.situation = situation;
    try {
      const SteadyRun run = runner.run(situation);
      outcome.moments = moments_of(rig_, run.cycle);
      outcome.peak_v = peaks_of(outcome.moments);
      outcome.duty = duties_of(rig_, run.cycle);
    } catch (const core::SimulationError& error) {
      outcome.failure = error.what();
    }
    return outcome;
  }

  /// Bleeders and equalisers with a tolerance at this stage; every such part at the cold stage,
  /// whose switch-on is followed only until its swings are over.
  [[nodiscard]] std::vector<std::string> sharing_parts(Stage stage) const {
    std::vector<std::string> parts = toleranced_parts(rig_, stage);
    if (stage == cold_stage_) {
      return parts;
    }
    std::erase_if(parts, [&](const std::string& name) {
      const auto* resistor = std::get_if<core::Resistor>(&rig_.find(name)->data);
      return resistor == nullptr || !bleeds(*resistor);
    });
    return parts;
  }

  /// What a Sensitivity is asked about: capacitor volts, then bleeder volts and watts.
  static std::vector<double> figures_of(const Outcome& outcome, const Outcome& nominal) {
    std::vector<double> figures;
    for (const auto& [part, volts] : nominal.peak_v) {
      const auto found = outcome.peak_v.find(part);
      figures.push_back(found == outcome.peak_v.end() ? volts : found->second);
    }
    for (const auto& [part, duty] : nominal.duty) {
      const auto found = outcome.duty.find(part);
      const BleederDuty& here = found == outcome.duty.end() ? duty : found->second;
      figures.push_back(here.volts_dc);
      figures.push_back(here.watts);
    }
    return figures;
  }

  static std::set<Corner> combined_corners(const std::vector<std::string>& parts,
                                           const std::vector<Outcome>& outcomes) {
    if (!outcomes.front().failure.empty()) {
      return {};
    }
    std::vector<std::vector<double>> figures;
    figures.reserve(outcomes.size());
    for (const Outcome& outcome : outcomes) {
      figures.push_back(figures_of(outcome, outcomes.front()));
    }
    return worst_corners(Sensitivity(parts, std::move(figures)));
  }

  std::vector<Outcome> steady_chain(Engine& engine, Stage stage) const {
    SteadyRunner nominal(engine, rig_);
    const std::vector<std::string> parts = sharing_parts(stage);
    Situation situation;
    situation.stage = stage;
    situation.line = rig_.mains().high;
    std::vector<Outcome> outcomes{steady_outcome(nominal, situation)};
    const auto run_corner = [&](const Corner& corner) {
      SteadyRunner runner(engine, rig_);
      runner.start_from(nominal);
      situation.corner = corner;
      outcomes.push_back(steady_outcome(runner, situation));
    };
    const std::vector<Corner> singles = single_corners(parts);
    std::for_each(singles.begin() + 1, singles.end(), run_corner);  // the first is nominal
    for (const Corner& corner : combined_corners(parts, outcomes)) {
      run_corner(corner);
    }
    return outcomes;
  }

  void steady_part(const std::vector<Stage>& stages) {
    std::vector<Stage> steady;
    std::copy_if(stages.begin(), stages.end(), std::back_inserter(steady),
                 [](Stage stage) { return stage >= Stage::filter; });
    std::vector<std::vector<Outcome>> outcomes(steady.size());
    planned_ += static_cast<int>(steady.size()) + kAngles;
    pool_.for_each(steady.size(), [&](Engine& engine, std::size_t i) {
      outcomes[i] = steady_chain(engine, steady[i]);
      tell_progress();
    });
    for (const std::vector<Outcome>& chain : outcomes) {
      for (const Outcome& outcome : chain) {
        merge(outcome, outcome.situation, false);
      }
    }
  }

  /// How long a tolerance of a switch-on is followed.
  [[nodiscard]] double brief_seconds(const std::vector<Outcome>& nominal,
                                     const std::map<int, double>& steady_v) const {
    std::map<StressKey, WorstStress> steady;
    for (const auto& [part, volts] : steady_v) {
      steady[{part, 0, StressRule::capacitor_working_volts}].value = volts;
    }
    std::vector<Stress> peaks;
    for (const Outcome& outcome : nominal) {
      for (const auto& [part, volts] : outcome.peak_v) {
        peaks.push_back(
            {part, 0, StressRule::capacitor_surge_volts, volts, outcome.peak_at_s.at(part)});
      }
    }
    return brief_switch_on_s(rig_, peaks, steady, kSwitchOnSeconds);
  }

  std::vector<Outcome> switch_on_runs(const std::vector<Situation>& situations, double stop_s) {
    std::vector<Outcome> outcomes(situations.size());
    pool_.for_each(situations.size(), [&](Engine& engine, std::size_t i) {
      outcomes[i].words = switch_on_words(rig_, situations[i]);
      try {
        const RigRun run = run_transient(engine, rig_, situations[i], switch_on_plan(stop_s));
        outcomes[i].moments = moments_of(rig_, run);
        outcomes[i].peak_v = peaks_of(outcomes[i].moments);
        outcomes[i].peak_at_s = peak_times_of(rig_, run);
      } catch (const core::SimulationError& error) {
        outcomes[i].failure = error.what();
      }
      tell_progress();
    });
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
      merge(outcomes[i], situations[i], true);
    }
    return outcomes;
  }

  /// The first angle over the whole time, the others while the swings of the first last, and longer
  /// where they turn out to swing longer.
  std::vector<Outcome> angle_runs(const std::vector<Situation>& angles,
                                  const std::map<int, double>& steady_v) {
    std::vector<Outcome> outcomes = switch_on_runs({angles.front()}, kSwitchOnSeconds);
    const double brief_s = brief_seconds(outcomes, steady_v);
    const std::vector<Situation> others(angles.begin() + 1, angles.end());
    std::vector<Outcome> brief = switch_on_runs(others, brief_s);
    for (std::size_t i = 0; i < brief.size(); ++i) {
      if (!over(brief[i].peak_v, brief[i].peak_at_s, steady_v, brief_s)) {
        brief[i] = switch_on_runs({others[i]}, kSwitchOnSeconds).front();
      }
    }
    std::move(brief.begin(), brief.end(), std::back_inserter(outcomes));
    return outcomes;
  }

  void stand_beside() {
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      auto runner = std::make_shared<SteadyRunner>(engine, rig_);
      try {
        static_cast<void>(runner->run(result_.worst_cold));
        result_.beside = std::move(runner);
      } catch (const core::SimulationError&) {
        // what has no steady state helps nobody to find one
      }
    });
  }

  /// The angle at which each capacitor peaks, where the angle matters; else the first one.
  static std::set<double> worst_angles(const std::vector<Situation>& situations,
                                       const std::vector<Outcome>& outcomes) {
    struct Spread {
      double low_v = 1e300, high_v = 0.0, angle_deg = 0.0;
    };
    std::map<int, Spread> spreads;
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
      for (const auto& [part, volts] : outcomes[i].peak_v) {
        Spread& spread = spreads[part];
        spread.low_v = std::min(spread.low_v, volts);
        if (volts > spread.high_v * (1.0 + 1e-6)) {
          spread.high_v = volts;
          spread.angle_deg = situations[i].closing_angle_deg;
        }
      }
    }
    std::set<double> angles;
    for (const auto& [part, spread] : spreads) {
      if (spread.high_v - spread.low_v > kAngleMatters * spread.high_v) {
        angles.insert(spread.angle_deg);
      }
    }
    return angles.empty() ? std::set<double>{0.0} : angles;
  }

  void tolerance_part(const std::set<double>& angles, double stop_s) {
    const std::vector<std::string> parts = toleranced_parts(rig_, cold_stage_);
    const std::vector<Corner> singles = single_corners(parts);
    std::vector<Situation> situations;
    for (const double angle_deg : angles) {
      for (const Corner& corner : singles) {
        situations.push_back(cold_at(angle_deg, corner));
      }
    }
    planned_ += static_cast<int>(situations.size());
    const std::vector<Outcome> outcomes = switch_on_runs(situations, stop_s);
    std::vector<Situation> combined;
    auto first = outcomes.begin();
    for (const double angle_deg : angles) {
      const auto end = first + static_cast<std::ptrdiff_t>(singles.size());
      for (const Corner& corner : combined_corners(parts, {first, end})) {
        combined.push_back(cold_at(angle_deg, corner));
      }
      first = end;
    }
    planned_ += static_cast<int>(combined.size());
    switch_on_runs(combined, stop_s);
  }

  const core::Rig& rig_;
  WorkerPool& pool_;
  const Progress& progress_;
  Stage cold_stage_ = Stage::tubes_out;
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

std::vector<ChargeMoment> moments_with_open(Engine& engine, const core::Rig& rig,
                                            const std::string& path, const WorstStart& start) {
  Situation situation = start.worst_cold;
  situation.lifted.insert(path);
  std::vector<ChargeMoment> moments =
      moments_of(rig, run_transient(engine, rig, situation, switch_on_plan(kSwitchOnSeconds)));
  std::vector<ChargeMoment> later;
  try {
    SteadyRunner runner(engine, rig);
    if (start.beside) {
      runner.start_near(*start.beside);
    }
    later = moments_of(rig, runner.run(situation).cycle);
  } catch (const core::SimulationError&) {
    later = moments_of_long_run(engine, rig, situation);
  }
  moments.insert(moments.end(), later.begin(), later.end());
  return moments;
}

}  // namespace firstglow::sim
