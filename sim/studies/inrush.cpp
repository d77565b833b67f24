#include "sim/studies/inrush.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <mutex>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/inrush_angles.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

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

const InrushPoint* worst_of(const std::vector<InrushPoint>& points, double InrushPoint::*figure) {
  const InrushPoint* worst = nullptr;
  for (const InrushPoint& point : points) {
    if (point.failure.empty() && (worst == nullptr || point.*figure > worst->*figure)) {
      worst = &point;
    }
  }
  return worst;
}

/// The start of any angle that heats this fuse most.
core::Finding fuse_finding(const core::Part& part, const core::Fuse& fuse, double i2t,
                           double angle_deg) {
  core::Finding finding;
  finding.rule = "fuse-inrush-i2t";
  finding.part = part.designator;
  finding.quantity = "I2t of the whole start";
  finding.unit = "A^2 s";
  finding.value = i2t;
  finding.situation =
      fmt::format("cold switch-on, closed at {:.0f} deg, worst remanence", angle_deg);
  if (!fuse.melting_i2t) {
    finding.note = "melting I2t unknown: give melting_i2t in the record";
    return finding;
  }
  finding.limit = kFuseShare * fuse.melting_i2t->si();
  finding.limit_source = "38 % of melting I2t, for 1000 starts [LITTELFUSE-PULSE]";
  finding.verdict = i2t <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
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

/// Largest figure of one part over all angles, with its angle; empty when it has none.
struct Worst {
  double value = 0.0;
  double angle_deg = 0.0;
};

std::optional<Worst> worst_rectifier(const std::vector<AngleRun>& runs, int part) {
  std::optional<Worst> worst;
  for (const AngleRun& run : runs) {
    for (const auto& [index, amps] : run.rectifier_peaks) {
      if (index == part && (!worst || amps > worst->value)) {
        worst = Worst{amps, run.point.angle_deg};
      }
    }
  }
  return worst;
}

std::optional<Worst> worst_fuse(const std::vector<AngleRun>& runs, int part) {
  std::optional<Worst> worst;
  for (const AngleRun& run : runs) {
    for (const FuseDuty& duty : run.fuses) {
      if (duty.part == part && (!worst || duty.i2t > worst->value)) {
        worst = Worst{duty.i2t, run.point.angle_deg};
      }
    }
  }
  return worst;
}

void add_findings(const core::Rig& rig, const std::vector<AngleRun>& runs, InrushResult& result) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::Part& part = rig.parts[i];
    const auto* fuse = std::get_if<core::Fuse>(&part.data);
    const auto duty = worst_fuse(runs, static_cast<int>(i));
    if (fuse != nullptr && duty) {
      result.findings.push_back(fuse_finding(part, *fuse, duty->value, duty->angle_deg));
    }
    const auto* diode = std::get_if<core::SiliconDiode>(&part.data);
    const auto peak = worst_rectifier(runs, static_cast<int>(i));
    if (diode != nullptr && peak) {
      result.findings.push_back(surge_finding(part, *diode, peak->value, peak->angle_deg));
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

std::vector<std::string> assumptions_of(const core::Rig& rig, const Situation& situation) {
  std::vector<std::string> all{
      fmt::format("High line {:.3g} V rms, {}, everything cold, capacitors empty, nominal parts.",
                  rig.mains().high.si(), netlists::stage_words(situation.stage)),
      "The core saturates. It was left with the largest flux of either direction: the worse of the "
      "two is shown for each angle.",
      "Steady current: key down or the last stage the rig has, for comparison.",
  };
  for (const core::Part& part : rig.parts) {
    const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
    if (transformer != nullptr && !transformer->second_no_load_volts) {
      all.push_back(fmt::format(
          "{}: the knee of its core is ASSUMED at 1.2 times the flux at the stated volts, and what "
          "is left beyond it at 5 % of the rated impedance (from memory, both on the high side). A "
          "second no-load reading 10 to 20 % higher would place the knee.",
          part.designator));
    }
    if (std::holds_alternative<core::NtcLimiter>(part.data)) {
      all.push_back(fmt::format(
          "{} is cold. Switched on again within some {:.2g} s it is still warm and limits hardly "
          "at "
          "all: `margins` holds the rectifiers against that start.",
          part.designator, 3.0 * std::get<core::NtcLimiter>(part.data).thermal_time.si()));
    }
    if (const auto* step = std::get_if<core::StepStart>(&part.data)) {
      all.push_back(fmt::format("{} is bridged after {:.3g} s; the start is followed for {:.3g} s.",
                                part.designator, step->delay.si(), start_seconds(rig)));
    }
  }
  return all;
}

/// The runs of one study: angles as they are asked for, and the steady current beside the first.
class InrushRuns {
 public:
  InrushRuns(const core::Rig& rig, const Progress& progress, WorkerPool& pool)
      : rig_(rig), progress_(progress), pool_(pool) {
    situation_.stage = cold_stage(rig);
    situation_.line = rig.mains().high;
    situation_.thermal = netlists::ThermalMode::moving;
    situation_.step_relay = netlists::StepRelay::timed;
  }

  [[nodiscard]] const Situation& situation() const { return situation_; }
  [[nodiscard]] std::vector<AngleRun>& runs() { return runs_; }

  void add(const std::vector<double>& angles_deg) {
    const std::size_t before = runs_.size();
    runs_.resize(before + angles_deg.size());
    pool_.for_each(angles_deg.size(), [&](Engine& engine, std::size_t i) {
      Situation closed = situation_;
      closed.closing_angle_deg = angles_deg[i];
      runs_[before + i] = run_angle(engine, rig_, closed);
      const std::scoped_lock lock(mutex_);
      ++done_;
      if (progress_) {
        progress_(done_, static_cast<int>(runs_.size()));
      }
    });
  }

  /// Halfway to both neighbours of the highest first peak, `step_deg` apart.
  void look_closer(double step_deg) {
    const AngleRun* worst = nullptr;
    for (const AngleRun& run : runs_) {
      if (run.point.failure.empty() &&
          (worst == nullptr || run.point.first_cycle_peak_a > worst->point.first_cycle_peak_a)) {
        worst = &run;
      }
    }
    if (worst == nullptr) {
      return;
    }
    const double angle_deg = worst->point.angle_deg;
    add({std::fmod(angle_deg + 360.0 - 0.5 * step_deg, 360.0),
         std::fmod(angle_deg + 0.5 * step_deg, 360.0)});
    std::sort(runs_.begin(), runs_.end(), [](const AngleRun& a, const AngleRun& b) {
      return a.point.angle_deg < b.point.angle_deg;
    });
  }

  [[nodiscard]] std::optional<double> steady_mains_a() {
    std::optional<double> amps;
    pool_.for_each(1, [&](Engine& engine, std::size_t) {
      try {
        Situation steady;
        steady.stage = netlists::stages_of(rig_).back();
        steady.line = rig_.mains().high;
        SteadyRunner runner(engine, rig_);
        const SteadyRun run = runner.run(steady);
        amps = rms_of({run.cycle.time_s(), run.cycle.mains_a()});
      } catch (const core::SimulationError&) {
        amps.reset();
      }
    });
    return amps;
  }

 private:
  const core::Rig& rig_;
  const Progress& progress_;
  WorkerPool& pool_;
  Situation situation_;
  std::vector<AngleRun> runs_;
  std::mutex mutex_;
  int done_ = 0;
};

}  // namespace

InrushResult inrush(const core::Rig& rig, const InrushOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(options.closing_angles >= 4 && options.closing_angles <= 72,
                    "4 to 72 closing angles");
  InrushRuns all(rig, options.progress, pool);
  const double step_deg = 360.0 / options.closing_angles;
  std::vector<double> angles_deg;
  angles_deg.reserve(static_cast<std::size_t>(options.closing_angles));
  for (int i = 0; i < options.closing_angles; ++i) {
    angles_deg.push_back(i * step_deg);
  }
  all.add(angles_deg);
  all.look_closer(step_deg);
  const std::vector<AngleRun>& runs = all.runs();
  InrushResult result;
  result.steady_mains_a = all.steady_mains_a();
  for (const AngleRun& run : runs) {
    result.points.push_back(run.point);
  }
  add_findings(rig, runs, result);
  const InrushPoint* worst = worst_of(result.points, &InrushPoint::first_second_peak_a);
  if (worst != nullptr) {
    result.traces.push_back(runs[static_cast<std::size_t>(worst - result.points.data())].trace);
  }
  result.assumptions = assumptions_of(rig, all.situation());
  return result;
}

}  // namespace firstglow::sim
