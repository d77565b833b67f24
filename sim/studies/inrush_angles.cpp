#include "sim/studies/inrush_angles.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/situation_words.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;

constexpr int kFineSteps = 1000;  ///< per cycle, for the first cycle
constexpr int kSteps = 200;  ///< per cycle, for the whole start and to tell the worse remanence
constexpr double kStartSeconds = 1.0;

struct MainsFigures {
  double peak = 0.0, rms = 0.0, i2t = 0.0;
};

MainsFigures figures_of(const RigRun& run) {
  const std::vector<double> amps = run.mains_a();
  const SampledView wave{run.time_s(), amps};
  return {peak_magnitude_of(amps), rms_of(wave), square_integral_of(wave)};
}

void note_rectifiers(const core::Rig& rig, const RigRun& run, AngleRun& result) {
  for (const Stress& stress : stresses_of(rig, run, RunKind::transient)) {
    if (stress.rule != StressRule::rectifier_surge_current) {
      continue;
    }
    result.rectifier_peaks.emplace_back(stress.part, stress.value);
    if (stress.value > result.point.worst_rectifier_peak_a) {
      result.point.worst_rectifier_peak_a = stress.value;
      result.point.worst_rectifier = rig.parts[static_cast<std::size_t>(stress.part)].designator;
    }
  }
}

void note_fuses(const core::Rig& rig, const RigRun& run, AngleRun& result) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const std::vector<double>* amps = run.part_a(static_cast<int>(i));
    if (std::holds_alternative<core::Fuse>(rig.parts[i].data) && amps != nullptr) {
      result.fuses.push_back({static_cast<int>(i), square_integral_of({run.time_s(), *amps})});
    }
  }
}

/// Largest mains current of the first cycle.
double first_peak_a(Engine& engine, const core::Rig& rig, const Situation& situation, int steps,
                    AngleRun& result) {
  TransientPlan plan;
  plan.stop_s = 1.0 / rig.mains().frequency.si();
  plan.steps_per_cycle = steps;
  const RigRun run = run_transient(engine, rig, situation, plan);
  note_rectifiers(rig, run, result);
  return peak_magnitude_of(run.mains_a());
}

/// First cycle with the worse of the two remanences, which is returned. No remanence lies between
/// them: the flux swings from it to a lower peak than from the one of its own direction.
double first_cycle(Engine& engine, const core::Rig& rig, Situation situation, AngleRun& result) {
  situation.core_model = netlists::CoreModel::linear;
  first_peak_a(engine, rig, situation, kFineSteps, result);
  situation.core_model = netlists::CoreModel::saturating;
  situation.remanence = 1.0;
  const double positive_a = first_peak_a(engine, rig, situation, kSteps, result);
  situation.remanence = -1.0;
  const double negative_a = first_peak_a(engine, rig, situation, kSteps, result);
  situation.remanence = positive_a >= negative_a ? 1.0 : -1.0;
  TransientPlan plan;
  plan.stop_s = 1.0 / rig.mains().frequency.si();
  plan.steps_per_cycle = kFineSteps;
  const RigRun run = run_transient(engine, rig, situation, plan);
  note_rectifiers(rig, run, result);
  const MainsFigures cycle = figures_of(run);
  result.point.first_cycle_peak_a = cycle.peak;
  result.point.first_cycle_rms_a = cycle.rms;
  result.point.first_cycle_i2t = cycle.i2t;
  return situation.remanence;
}

void whole_start(Engine& engine, const core::Rig& rig, const Situation& situation,
                 AngleRun& result) {
  TransientPlan plan;
  plan.stop_s = start_seconds(rig);
  plan.steps_per_cycle = kSteps;
  const RigRun run = run_transient(engine, rig, situation, plan);
  const MainsFigures whole = figures_of(run);
  InrushPoint& point = result.point;
  point.first_second_peak_a = std::max(point.first_cycle_peak_a, whole.peak);
  point.first_second_rms_a = whole.rms;
  point.first_second_i2t = whole.i2t;
  note_rectifiers(rig, run, result);
  note_fuses(rig, run, result);
  result.trace =
      Trace{switch_on_words(rig, situation) + ": mains current", "A", run.time_s(), run.mains_a()};
}

}  // namespace

double start_seconds(const core::Rig& rig) { return switch_on_seconds(rig, kStartSeconds); }

AngleRun run_angle(Engine& engine, const core::Rig& rig, const Situation& situation) {
  AngleRun result;
  result.point.angle_deg = situation.closing_angle_deg;
  try {
    Situation worst = situation;
    worst.remanence = first_cycle(engine, rig, situation, result);
    worst.core_model = netlists::CoreModel::saturating;
    result.point.remanence = worst.remanence;
    whole_start(engine, rig, worst, result);
  } catch (const core::SimulationError& error) {
    result.point.failure = error.what();
  }
  return result;
}

}  // namespace firstglow::sim
