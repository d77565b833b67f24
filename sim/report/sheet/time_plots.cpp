#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/longest_discharge.hpp"
#include "sim/report/sheet/plot.hpp"
#include "sim/report/sheet/sheet_plots.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/warm_up.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kMostCurves = 4;
constexpr double kLeastSeconds = 1e-3;  ///< where a logarithmic axis of time begins
/// When indirectly heated tubes begin to draw: 10 to 30 s (common practice, no source).
constexpr double kTubesFromSeconds = 10.0;

/// A curve over a logarithmic axis of time: what lies before its beginning is left out.
PlotCurve over_log_time(std::string name, const std::vector<double>& time_s,
                        const std::vector<double>& volts, double after_s = 0.0) {
  PlotCurve curve{std::move(name), CurveStyle::line, {}, {}, {}};
  for (std::size_t i = 0; i < time_s.size(); ++i) {
    if (time_s[i] + after_s >= kLeastSeconds) {
      curve.x.push_back(time_s[i] + after_s);
      curve.y.push_back(std::abs(volts[i]));
    }
  }
  thin_out(curve);
  return curve;
}

const CapacitorDischarge* find_part(const BleedResult& bleed, const std::string& case_name,
                                    const std::string& part) {
  for (const DischargeCase& one : bleed.cases) {
    for (const CapacitorDischarge& capacitor : one.capacitors) {
      if (one.name == case_name && capacitor.part == part && !capacitor.time_s.empty()) {
        return &capacitor;
      }
    }
  }
  return nullptr;
}

/// A capacitor with all paths intact and with its own worst path open, each the slowest case.
void add_both(Plot& plot, const BleedResult& bleed, const std::string& part) {
  for (const DischargePaths paths : {DischargePaths::intact, DischargePaths::one_open}) {
    const LongestDischarge longest = longest_discharge(bleed, part, paths);
    const CapacitorDischarge* curve = find_part(bleed, longest.case_name, part);
    if (longest.answered && curve != nullptr) {
      const std::string how = paths == DischargePaths::intact ? "all intact" : longest.case_name;
      plot.curves.push_back(
          over_log_time(fmt::format("{}, {}", part, how), curve->time_s, curve->volts));
    }
  }
}

/// The capacitor that holds most energy; then one that a single open part leaves charged longest.
std::vector<std::string> telling_parts(const BleedResult& bleed) {
  const CapacitorDischarge* fullest = nullptr;
  std::string last;
  for (const DischargeCase& one : bleed.cases) {
    for (const CapacitorDischarge& capacitor : one.capacitors) {
      if (one.failure.empty() && (fullest == nullptr || capacitor.start_j > fullest->start_j)) {
        fullest = &capacitor;
      }
    }
    if (one.failure.empty() && !one.open_part.empty() && !one.last_s && last.empty()) {
      last = one.last_part;
    }
  }
  std::vector<std::string> parts;
  if (fullest != nullptr) {
    parts.push_back(fullest->part);
  }
  if (!last.empty() && (parts.empty() || parts.front() != last)) {
    parts.push_back(last);
  }
  return parts;
}

/// A rating that several capacitors share stands once.
void add_rating(Plot& plot, const std::string& part, const char* name,
                const std::optional<core::Volts>& rating) {
  if (!rating) {
    return;
  }
  for (PlotMark& mark : plot.marks) {
    if (!mark.upright && mark.at == rating->si() && mark.words.find(name) != std::string::npos) {
      mark.words = part + ", " + mark.words;
      return;
    }
  }
  plot.marks.push_back({rating->si(), false, fmt::format("{} {}", part, name), true});
}

}  // namespace

Markup switch_on_plot(const core::Rig& rig, const MarginsResult& margins) {
  Plot plot;
  const double warm_s = rectifier_warm_up_s(rig);
  plot.words = {
      "plot-switch-on", "Volts across the capacitors after a cold switch-on, high line.",
      "Computed with nominal parts and the tubes out, at the closing angle of the highest "
      "peak; the curves end where the run ended; tolerances add to it (margins page). "
      "Nothing draws until the tubes are warm: the capacitors "
      "have to stand the peak, every time."};
  if (warm_s > 0.0) {
    plot.words.description += fmt::format(
        " The curves begin after the published {} of warm-up of the slowest rectifier tube; in "
        "truth the volts creep up sooner and slower.",
        with_unit(warm_s, "s"));
  }
  plot.x_label = "seconds after switch-on";
  plot.y_label = "V";
  plot.log_x = true;
  plot.x_range = {{kLeastSeconds, 100.0}};
  std::vector<const core::Part*> shown;
  for (const core::Part& part : rig.parts) {
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    if (capacitor == nullptr || !filters(*capacitor)) {
      continue;
    }
    for (const Trace& trace : margins.traces) {
      if (trace.name.ends_with(": volts across " + part.designator) &&
          plot.curves.size() < kMostCurves) {
        plot.curves.push_back(over_log_time(part.designator, trace.time_s, trace.value, warm_s));
        shown.push_back(&part);
      }
    }
  }
  for (const core::Part* part : shown) {
    const auto& capacitor = std::get<core::Capacitor>(part->data);
    add_rating(plot, part->designator, "working", capacitor.working_volts);
    add_rating(plot, part->designator, "surge", capacitor.surge_volts);
  }
  double top_v = 0.0;
  for (const PlotCurve& curve : plot.curves) {
    top_v = curve.y.empty() ? top_v
                            : std::max(top_v, *std::max_element(curve.y.begin(), curve.y.end()));
  }
  for (const PlotMark& mark : plot.marks) {
    top_v = std::max(top_v, mark.at);
  }
  if (top_v > 0.0) {
    plot.y_range = {{0.0, 1.12 * top_v}};
  }
  plot.marks.push_back({kTubesFromSeconds, true, "tubes begin to draw about here", false});
  return plotted(plot);
}

Markup discharge_plot(const BleedResult& bleed) {
  Plot plot;
  plot.words = {
      "plot-discharge", "Volts left after switch-off, slowest corner of tolerance.",
      "The capacitor that holds most energy, and one that a single open part leaves charged: with "
      "all paths intact, and with the path open that matters most to it. A flat line is a charge "
      "that stays."};
  plot.x_label = "seconds after switch-off";
  plot.y_label = "V left";
  plot.log_x = true;
  for (const std::string& part : telling_parts(bleed)) {
    add_both(plot, bleed, part);
  }
  if (bleed.limit.volts > 0.0) {
    plot.marks.push_back({bleed.limit.volts, false, bleed.limit.words});
  }
  return plotted(plot);
}

Markup rebound_plot(const BleedResult& bleed) {
  Plot plot;
  plot.words = {"plot-rebound", "What comes back when the short is taken off too soon.",
                "Ends open, nothing to bleed it down, by the highest absorption published for the "
                "dielectric."};
  plot.x_label = "seconds after the short was taken off";
  plot.y_label = "V";
  plot.log_x = true;
  std::vector<const Rebound*> sorted;
  for (const Rebound& rebound : bleed.rebounds) {
    sorted.push_back(&rebound);
  }
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const Rebound* a, const Rebound* b) { return a->peak_v > b->peak_v; });
  sorted.resize(std::min(sorted.size(), kMostCurves));
  for (const Rebound* rebound : sorted) {
    plot.curves.push_back(over_log_time(rebound->part, rebound->time_s, rebound->volts));
  }
  if (bleed.limit.volts > 0.0) {
    plot.marks.push_back({bleed.limit.volts, false, bleed.limit.words});
  }
  return plotted(plot);
}

Markup reform_plot(const ReformResult& reform) {
  Plot plot;
  plot.words = {"plot-reform", "Current of a can that is re-formed on the bench.", ""};
  plot.x_label = "hours";
  plot.y_label = "mA";
  plot.log_y = true;
  const ReformPlan* chosen = nullptr;
  for (const ReformPlan& plan : reform.plans) {
    const double joules = plan.capacitance_f * plan.rated_v * plan.rated_v;
    if (plan.failure.empty() &&
        (chosen == nullptr || joules > chosen->capacitance_f * chosen->rated_v * chosen->rated_v)) {
      chosen = &plan;
    }
  }
  if (chosen == nullptr) {
    return figure(plot.words, std::nullopt,
                  reform.plans.empty() ? std::string("the record has no electrolytic")
                                       : reform.plans.front().failure);
  }
  plot.words.title = fmt::format("Current of {} while it is re-formed on the bench, through {}.",
                                 chosen->part, with_unit(chosen->series_ohm, "ohm"));
  plot.words.description =
      "Three cans that nobody can tell apart at the start. Each jump is the next step of the "
      "supply. Falling steadily: it forms. Flat or rising: stop.";
  for (const FormingCase& one : chosen->cases) {
    PlotCurve curve{one.name, CurveStyle::line, {}, {}, {}};
    for (const FormingPoint& point : one.points) {
      if (point.current_a > 0.0) {
        curve.x.push_back(point.time_s / 3600.0);
        curve.y.push_back(point.current_a * 1e3);
      }
    }
    thin_out(curve);
    plot.curves.push_back(std::move(curve));
  }
  plot.y_range = {{0.01, 3e3 * reform.ceiling_a}};
  plot.marks.push_back({reform.ceiling_a * 1e3, false, "never more than this"});
  if (chosen->limit_a > 0.0) {
    plot.marks.push_back({chosen->limit_a * 1e3, false, "done below this, at full volts"});
  }
  return plotted(plot);
}

}  // namespace firstglow::sim
