#include "sim/studies/inrush.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <mutex>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

constexpr int kFineSteps = 1000;  ///< per cycle, for the first cycle
constexpr int kSteps = 200;       ///< per cycle, for the first second
/// Share of the melting I2t a start may use when the fuse shall stand a thousand of them.
/// Source: fuse makers' pulse rule [LITTELFUSE-PULSE], 38 % at 1000 pulses (read second hand).
constexpr double kFuseShare = 0.38;

/// The stage that draws most in the first second: heaters cold in their sockets, cathodes cold.
Stage cold_stage(const core::Rig& rig) {
  Stage stage = Stage::transformer;
  for (const Stage each : netlists::stages_of(rig)) {
    if (each <= Stage::heaters) {
      stage = each;
    }
  }
  return stage;
}

struct MainsFigures {
  double peak = 0.0, rms = 0.0, i2t = 0.0;
};

MainsFigures figures_of(const RigRun& run) {
  const std::vector<double> amps = run.mains_a();
  const SampledView wave{run.time_s(), amps};
  return {peak_magnitude_of(amps), rms_of(wave), square_integral_of(wave)};
}

void note_rectifiers(const core::Rig& rig, const RigRun& run, InrushPoint& point) {
  for (const Stress& stress : stresses_of(rig, run, RunKind::transient)) {
    if (stress.rule == StressRule::rectifier_surge_current &&
        stress.value > point.worst_rectifier_peak_a) {
      point.worst_rectifier_peak_a = stress.value;
      point.worst_rectifier = rig.parts[static_cast<std::size_t>(stress.part)].designator;
    }
  }
}

struct AngleRun {
  InrushPoint point;
  std::vector<std::pair<int, double>> rectifier_peaks;  ///< part index, amps
  Trace trace;
};

void keep_rectifier_peaks(const core::Rig& rig, const RigRun& run, AngleRun& result) {
  for (const Stress& stress : stresses_of(rig, run, RunKind::transient)) {
    if (stress.rule == StressRule::rectifier_surge_current) {
      result.rectifier_peaks.emplace_back(stress.part, stress.value);
    }
  }
}

AngleRun run_angle(Engine& engine, const core::Rig& rig, const Situation& situation) {
  AngleRun result;
  InrushPoint& point = result.point;
  point.angle_deg = situation.closing_angle_deg;
  try {
    TransientPlan plan;
    plan.stop_s = 1.0 / rig.mains().frequency.si();
    plan.steps_per_cycle = kFineSteps;
    const RigRun first = run_transient(engine, rig, situation, plan);
    plan.stop_s = 1.0;
    plan.steps_per_cycle = kSteps;
    const RigRun second = run_transient(engine, rig, situation, plan);
    const MainsFigures cycle = figures_of(first);
    const MainsFigures whole = figures_of(second);
    point.first_cycle_peak_a = cycle.peak;
    point.first_cycle_rms_a = cycle.rms;
    point.first_cycle_i2t = cycle.i2t;
    point.first_second_peak_a = std::max(cycle.peak, whole.peak);
    point.first_second_rms_a = whole.rms;
    point.first_second_i2t = whole.i2t;
    for (const RigRun* run : {&first, &second}) {
      note_rectifiers(rig, *run, point);
      keep_rectifier_peaks(rig, *run, result);
    }
    result.trace = Trace{switch_on_words(rig, situation) + ": mains current", "A", second.time_s(),
                         second.mains_a()};
  } catch (const core::SimulationError& error) {
    point.failure = error.what();
  }
  return result;
}

const InrushPoint* worst_of(const std::vector<InrushPoint>& points, double InrushPoint::*figure) {
  const InrushPoint* worst = nullptr;
  for (const InrushPoint& point : points) {
    if (point.failure.empty() && (worst == nullptr || point.*figure > worst->*figure)) {
      worst = &point;
    }
  }
  return worst;
}

core::Finding fuse_finding(const core::Part& part, const core::Fuse& fuse,
                           const InrushPoint& worst) {
  core::Finding finding;
  finding.rule = "fuse-inrush-i2t";
  finding.part = part.designator;
  finding.quantity = "I2t of the first second";
  finding.unit = "A^2 s";
  finding.value = worst.first_second_i2t;
  finding.situation = fmt::format("cold switch-on, closed at {:.0f} deg", worst.angle_deg);
  if (!fuse.melting_i2t) {
    finding.note = "melting I2t unknown: give melting_i2t in the record";
    return finding;
  }
  finding.limit = kFuseShare * fuse.melting_i2t->si();
  finding.limit_source = "38 % of melting I2t, for 1000 starts [LITTELFUSE-PULSE]";
  // The core's own inrush is left out, so a value below the limit proves nothing.
  if (*finding.value > *finding.limit) {
    finding.verdict = core::Verdict::unsafe;
  } else {
    finding.note = "below the limit, but the saturating core's inrush is not in this figure";
  }
  return finding;
}

core::Finding surge_finding(const core::Part& part, const core::SiliconDiode& diode, double peak_a,
                            double angle_deg) {
  core::Finding finding;
  finding.rule = "rectifier-surge-current";
  finding.part = part.designator;
  finding.quantity = "peak current at switch-on";
  finding.unit = "A";
  finding.value = peak_a;
  finding.situation = fmt::format("cold switch-on, closed at {:.0f} deg", angle_deg);
  if (!diode.surge_current) {
    finding.note = "rating unknown: give surge_current in the record";
    return finding;
  }
  finding.limit = diode.surge_current->si();
  finding.limit_source = "rating in the record or of the named type";
  finding.verdict = peak_a <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
  return finding;
}

void add_findings(const core::Rig& rig, const std::vector<AngleRun>& runs, InrushResult& result) {
  const InrushPoint* worst = worst_of(result.points, &InrushPoint::first_second_i2t);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::Part& part = rig.parts[i];
    if (const auto* fuse = std::get_if<core::Fuse>(&part.data); fuse != nullptr && worst) {
      result.findings.push_back(fuse_finding(part, *fuse, *worst));
    }
    const auto* diode = std::get_if<core::SiliconDiode>(&part.data);
    double peak_a = -1.0;
    double angle_deg = 0.0;
    for (const AngleRun& run : runs) {
      for (const auto& [index, amps] : run.rectifier_peaks) {
        if (index == static_cast<int>(i) && amps > peak_a) {
          peak_a = amps;
          angle_deg = run.point.angle_deg;
        }
      }
    }
    if (diode != nullptr && peak_a >= 0.0) {
      result.findings.push_back(surge_finding(part, *diode, peak_a, angle_deg));
    }
  }
  for (const InrushPoint& point : result.points) {
    if (!point.failure.empty()) {
      core::Finding failed;
      failed.rule = "simulation";
      failed.quantity = "run";
      failed.note = fmt::format("closing angle {:.0f} deg: {}", point.angle_deg, point.failure);
      result.findings.push_back(failed);
    }
  }
}

}  // namespace

InrushResult inrush(const core::Rig& rig, const InrushOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(options.closing_angles >= 4 && options.closing_angles <= 72,
                    "4 to 72 closing angles");
  const auto count = static_cast<std::size_t>(options.closing_angles);
  Situation situation;
  situation.stage = cold_stage(rig);
  situation.line = rig.mains().high;
  situation.thermal = netlists::ThermalMode::moving;
  std::vector<AngleRun> runs(count);
  InrushResult result;
  std::mutex mutex;
  int done = 0;
  pool.for_each(count + 1, [&](Engine& engine, std::size_t i) {
    if (i == count) {
      try {
        Situation steady;
        steady.stage = netlists::stages_of(rig).back();
        steady.line = rig.mains().high;
        SteadyRunner runner(engine, rig);
        const SteadyRun run = runner.run(steady);
        result.steady_mains_a = rms_of({run.cycle.time_s(), run.cycle.mains_a()});
      } catch (const core::SimulationError&) {
        result.steady_mains_a.reset();
      }
    } else {
      Situation closed = situation;
      closed.closing_angle_deg = 360.0 * static_cast<double>(i) / options.closing_angles;
      runs[i] = run_angle(engine, rig, closed);
    }
    const std::scoped_lock lock(mutex);
    ++done;
    if (options.progress) {
      options.progress(done, static_cast<int>(count) + 1);
    }
  });
  for (const AngleRun& run : runs) {
    result.points.push_back(run.point);
  }
  add_findings(rig, runs, result);
  const InrushPoint* worst = worst_of(result.points, &InrushPoint::first_second_peak_a);
  if (worst != nullptr) {
    result.traces.push_back(runs[static_cast<std::size_t>(worst - result.points.data())].trace);
  }
  result.assumptions = {
      fmt::format("High line {:.3g} V rms, {}, everything cold, capacitors empty, nominal parts.",
                  rig.mains().high.si(), netlists::stage_words(situation.stage)),
      "LOWER BOUND: the core is taken as linear. A real core can saturate in the first cycles and "
      "draw several times the peak shown, most when closed near a zero crossing (0 or 180 deg).",
      "Steady current: key down or the last stage the rig has, for comparison.",
  };
  return result;
}

}  // namespace firstglow::sim
