#include "sim/studies/course.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/error.hpp"
#include "sim/engine/run_failure.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/course_programme.hpp"
#include "sim/studies/job_counter.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rampup.hpp"
#include "sim/studies/rampup_tubes.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

constexpr double kSettledShare = 0.01;
constexpr double kSettledVolts = 0.1;

/// A point of time that is read.
struct Moment {
  double time_s = 0.0;
  std::size_t stretch = 0;
};

class CourseReader {
 public:
  CourseReader(const core::Rig& rig, const CourseProgramme& programme, const EnvelopeCourse& course)
      : rig_(rig), programme_(programme), course_(course), stretches_(programme.envelope()) {}

  /// Every `every_s`, and the last cycle of every step and of the whole.
  [[nodiscard]] std::vector<Moment> moments(double every_s) const {
    const double cycle_s = 1.0 / rig_.mains().frequency.si();
    std::vector<double> times{0.0};
    for (std::size_t i = 1; static_cast<double>(i) * every_s < course_.end_s(); ++i) {
      times.push_back(static_cast<double>(i) * every_s);
    }
    for (const CourseStep& step : programme_.steps) {
      times.push_back(step.end_s - cycle_s);
    }
    times.push_back(course_.end_s() - cycle_s);
    std::sort(times.begin(), times.end());
    times.erase(std::unique(times.begin(), times.end(),
                            [&](double a, double b) { return b - a < 1.5 * cycle_s; }),
                times.end());
    std::vector<Moment> all;
    all.reserve(times.size());
    for (const double time_s : times) {
      all.push_back({time_s, course_.stretch_at(time_s)});
    }
    return all;
  }

  [[nodiscard]] CourseReading read(Engine& engine, const Moment& moment) const {
    const CourseStretch& stretch = programme_.stretches[moment.stretch];
    const StretchCourse& found = course_.stretches[moment.stretch];
    const double cycle_s = 1.0 / rig_.mains().frequency.si();
    const EnvelopePoint point = found.at(moment.time_s);
    netlists::BuiltDeck built = stretch.built;
    built.deck = deck_at(stretches_[moment.stretch], cycle_s, point, moment.time_s - found.start_s);
    const RigRun run = run_cycle(engine, std::move(built), cycle_s);
    CourseReading reading;
    reading.time_s = moment.time_s;
    reading.error_v = point.error_v;
    if (stretch.situation.mains_on) {
      reading.dial_vrms = variac_volts_of(rig_, stretch.situation);
      const std::vector<double> amps = run.mains_a();
      reading.mains_a = rms_of({run.time_s(), amps});
      reading.mains_w = mean_product_of(run.time_s(), run.mains_v(), amps);
    }
    if (const auto lamp_v = run.lamp_v(); lamp_v && stretch.situation.lamp) {
      reading.lamp_vrms = rms_of({run.time_s(), *lamp_v});
      reading.lamp_w = reading.lamp_vrms * reading.mains_a;
    }
    read_nodes(run, reading);
    read_parts(run, reading);
    return reading;
  }

  /// From the start of a step until nothing is farther than 1 % from where it ends.
  [[nodiscard]] std::optional<double> settled_s(std::size_t step) const {
    const CourseStep& of = programme_.steps[step];
    const StretchCourse& last = course_.stretches[programme_.last_of_step[step]];
    const EnvelopePoint& end = last.points.back();
    const netlists::Deck& deck = stretches_[programme_.last_of_step[step]].deck;
    const std::vector<netlists::ElementIndex> elements = netlists::state_elements(deck);
    const auto moves = [&](const EnvelopePoint& point, std::size_t i) {
      const double off = std::abs(point.value[i] - end.value[i]);
      const double share = kSettledShare * std::abs(end.value[i]);
      if (i >= elements.size()) {
        return off > share;
      }
      const auto& data = deck.elements[static_cast<std::size_t>(elements[i])].data;
      return std::holds_alternative<netlists::CapacitorElement>(data) &&
             off > share + kSettledVolts;
    };
    const auto any_moves = [&](const EnvelopePoint& point) {
      for (std::size_t i = 0; i < end.value.size(); ++i) {
        if (moves(point, i)) {
          return true;
        }
      }
      return false;
    };
    for (std::size_t p = last.points.size() - 1; p-- > 0;) {
      // steps are long where little moves: look between their ends too
      const double from_s = last.points[p].time_s;
      const double piece_s = (last.points[p + 1].time_s - from_s) / kLooks;
      for (int look = kLooks - 1; look >= 0; --look) {
        if (any_moves(last.at(from_s + look * piece_s))) {
          // still on its way in the last tenth: the end is no place to measure from
          const double at_s = from_s + (look + 1) * piece_s;
          return at_s > of.end_s - kLastShare * (of.end_s - of.start_s)
                     ? std::nullopt
                     : std::optional(at_s - of.start_s);
        }
      }
    }
    return last.start_s - of.start_s;
  }

 private:
  static constexpr double kLastShare = 0.1;
  static constexpr int kLooks = 16;

  void read_nodes(const RigRun& run, CourseReading& reading) const {
    for (std::size_t i = 1; i < rig_.nodes.size(); ++i) {
      const auto node = static_cast<core::NodeIndex>(i);
      reading.nodes.push_back(run.has_node(node) ? std::optional(node_figures(run, node))
                                                 : std::nullopt);
    }
  }

  [[nodiscard]] double peak_v(const RigRun& run, int part) const {
    const auto* capacitor =
        std::get_if<core::Capacitor>(&rig_.parts[static_cast<std::size_t>(part)].data);
    return capacitor == nullptr
               ? 0.0
               : peak_magnitude_of(run.volts_between(capacitor->plus, capacitor->minus));
  }

  void read_parts(const RigRun& run, CourseReading& reading) const {
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      const auto part = static_cast<int>(i);
      std::optional<CoursePart>& found = reading.parts.emplace_back();
      if (const std::vector<double>* amps = run.part_a(part)) {
        found = CoursePart{rms_of({run.time_s(), *amps}), peak_magnitude_of(*amps),
                           dissipation_w(rig_, run, part).value_or(0.0), peak_v(run, part)};
      }
    }
  }

  const core::Rig& rig_;
  const CourseProgramme& programme_;
  const EnvelopeCourse& course_;
  std::vector<EnvelopeStretch> stretches_;
};

/// Highest volts of each capacitor at any point of the course, against its working volts.
std::vector<core::Finding> capacitor_findings(const core::Rig& rig,
                                              const CourseProgramme& programme,
                                              const EnvelopeCourse& course,
                                              const std::vector<CourseReading>& readings) {
  std::map<int, double> highest_v;
  for (const CourseReading& reading : readings) {
    for (std::size_t i = 0; i < reading.parts.size(); ++i) {
      if (reading.parts[i] && std::holds_alternative<core::Capacitor>(rig.parts[i].data)) {
        double& most_v = highest_v[static_cast<int>(i)];
        most_v = std::max(most_v, reading.parts[i]->peak_v);
      }
    }
  }
  for (std::size_t k = 0; k < course.stretches.size(); ++k) {
    const netlists::Deck& deck = programme.stretches[k].built.deck;
    const std::vector<netlists::ElementIndex> elements = netlists::state_elements(deck);
    for (std::size_t i = 0; i < elements.size(); ++i) {
      const netlists::Element& element = deck.elements[static_cast<std::size_t>(elements[i])];
      if (element.part < 0 || !std::holds_alternative<netlists::CapacitorElement>(element.data) ||
          !std::holds_alternative<core::Capacitor>(
              rig.parts[static_cast<std::size_t>(element.part)].data)) {
        continue;
      }
      for (const EnvelopePoint& point : course.stretches[k].points) {
        double& most_v = highest_v[element.part];
        most_v = std::max(most_v, std::abs(point.value[i]));
      }
    }
  }
  std::vector<core::Finding> findings;
  for (const auto& [part, volts] : highest_v) {
    const core::Part& record = rig.parts[static_cast<std::size_t>(part)];
    const auto& capacitor = std::get<core::Capacitor>(record.data);
    core::Finding finding;
    finding.rule = "capacitor-working-volts";
    finding.part = record.designator;
    finding.quantity = "highest volts on the way";
    finding.unit = "V";
    finding.value = volts;
    finding.situation = "the ladder as asked for, nominal parts, nominal line";
    if (capacitor.working_volts) {
      finding.limit = capacitor.working_volts->si();
      finding.limit_source = "rating in the record";
      finding.verdict = volts <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
    } else {
      finding.note = "rating unknown: give working_volts in the record";
    }
    findings.push_back(finding);
  }
  return findings;
}

core::Finding refusal_finding(const std::string& refusal) {
  core::Finding finding;
  finding.rule = "filament-first";
  finding.quantity = "filament hot before plate volts";
  finding.verdict = core::Verdict::unsafe;
  finding.note = refusal;
  return finding;
}

core::Finding failure_finding(const std::string& what) {
  core::Finding finding;
  finding.rule = "simulation";
  finding.quantity = "run";
  finding.note = what;
  return finding;
}

std::vector<std::string> assumptions_of(const core::Rig& rig, const CourseOptions& options) {
  std::vector<std::string> all{
      fmt::format("Nominal parts, line {:.3g} V rms, {}. `rampup` has the band of every reading.",
                  rig.mains().nominal.si(), netlists::stage_words(options.stage)),
      fmt::format(
          "Each turn of the dial takes {:.3g} s, even; a step lasts {:.3g} s with its turn.",
          options.turn_s, options.dwell_s),
      "Lamp, heaters and thermistors warm up on the way. Old electrolytics that have to form draw "
      "more: see `reform`.",
      "After the plug is out: nominal parts, every bleeder whole, tubes out, no dielectric "
      "absorption, which brings volts back. `bleed` has the slowest case and the open bleeder.",
  };
  if (options.stage > netlists::Stage::heaters) {
    all.emplace_back(
        "Tubes that draw are warm from the start. With cold cathodes nothing draws yet and the "
        "rails "
        "stand higher: tubes_out, and `margins`.");
  }
  if (options.lamp) {
    all.push_back(fmt::format("Lamp in series: {:.3g} W, {:.3g} V.", options.lamp->rated_watts.si(),
                              options.lamp->rated_volts.si()));
  }
  return all;
}

void name_all(const core::Rig& rig, CourseResult& result) {
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    result.nodes.push_back(rig.node_name(static_cast<core::NodeIndex>(i)));
  }
  for (const core::Part& part : rig.parts) {
    result.parts.push_back(part.designator);
  }
}

/// Programme and envelope, both on one worker: each step begins where the one before ended.
void follow(const core::Rig& rig, const CourseOptions& options, WorkerPool& pool,
            CourseProgramme& programme, EnvelopeCourse& followed) {
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    try {
      programme = course_programme(engine, rig, options);
      if (programme.stretches.empty()) {
        return;
      }
      EnvelopeOptions how;
      how.period_s = 1.0 / rig.mains().frequency.si();
      how.error_v = options.error_v;
      followed = follow_envelope(engine, programme.envelope(), how);
    } catch (const core::SimulationError& error) {
      throw with_part_names(error, part_names(rig));
    }
  });
}

}  // namespace

CourseResult course(const core::Rig& rig, const CourseOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(options.turn_s > 0.0 && options.dwell_s > options.turn_s,
                    "a step of the dial lasts longer than its turn");
  FIRSTGLOW_REQUIRE(options.every_s > 0.0 && options.off_s >= 0.0 && options.error_v > 0.0,
                    "readings have a time between them");
  CourseResult result;
  name_all(rig, result);
  result.assumptions = assumptions_of(rig, options);
  CourseProgramme programme;
  EnvelopeCourse followed;
  try {
    follow(rig, options, pool, programme, followed);
    if (!programme.refusal.empty()) {
      result.findings.push_back(refusal_finding(programme.refusal));
    }
    if (followed.stretches.empty()) {
      return result;
    }
    const CourseReader reader(rig, programme, followed);
    const std::vector<Moment> moments = reader.moments(options.every_s);
    JobCounter counter(options.progress, moments.size());
    std::vector<CourseReading> readings(moments.size());
    pool.for_each(moments.size(), [&](Engine& engine, std::size_t i) {
      readings[i] = reader.read(engine, moments[i]);
      counter.one_done();
    });
    result.readings = std::move(readings);
    result.steps = programme.steps;
    for (std::size_t i = 0; i < result.steps.size(); ++i) {
      result.steps[i].settled_s = reader.settled_s(i);
    }
  } catch (const core::SimulationError& error) {
    result.findings.push_back(failure_finding(error.what()));
    return result;
  }
  for (const std::size_t node : programme.main_nodes) {
    result.main_nodes.push_back(node - 1);  // the chassis has no column
  }
  result.off_at_s = programme.off_at_s;
  result.largest_error_v = followed.largest_error_v;
  result.cycle_runs = followed.cycle_runs;
  const auto capacitors = capacitor_findings(rig, programme, followed, result.readings);
  result.findings.insert(result.findings.end(), capacitors.begin(), capacitors.end());
  return result;
}

}  // namespace firstglow::sim
