#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/plot.hpp"
#include "sim/report/sheet/sheet_plots.hpp"

namespace firstglow::sim {
namespace {

constexpr double kLeastPercent = 0.01;  ///< of the lamp's watts, where its picture begins

const NodeReading* reading_of(const RampStep& step, const std::string& node) {
  const auto found = std::find_if(step.nodes.begin(), step.nodes.end(),
                                  [&node](const NodeReading& r) { return r.node == node; });
  return found == step.nodes.end() ? nullptr : &*found;
}

bool is_joint(const RampStep& step, const std::string& node) {
  return std::any_of(step.midpoints.begin(), step.midpoints.end(),
                     [&node](const MidpointReading& joint) { return joint.node == node; });
}

/// The main supply of the whole ramp: near the highest DC of any step, with the least ripple.
std::string main_supply(const RampupResult& rampup) {
  const RampStep* fullest = nullptr;
  double highest_v = 0.0;
  for (const RampPass& pass : rampup.passes) {
    for (const RampStep& step : pass.steps) {
      for (const NodeReading& node : step.nodes) {
        if (!pass.with_lamp && pass.stage >= netlists::Stage::filter && node.main_dc &&
            std::abs(node.dc_v.nominal) > highest_v) {
          highest_v = std::abs(node.dc_v.nominal);
          fullest = &step;
        }
      }
    }
  }
  if (fullest == nullptr) {
    return {};
  }
  const NodeReading* best = nullptr;
  for (const NodeReading& node : fullest->nodes) {
    if (node.main_dc && !is_joint(*fullest, node.node) &&
        std::abs(node.dc_v.nominal) > 0.75 * highest_v &&
        (best == nullptr || node.ripple_vpp < best->ripple_vpp)) {
      best = reading_of(*fullest, node.node);
    }
  }
  return best == nullptr ? std::string() : best->node;
}

/// Band and nominal line of one pass; empty when the node has no DC there.
std::vector<PlotCurve> curves_of(const RampPass& pass, const std::string& node) {
  PlotCurve band{"", CurveStyle::band, {}, {}, {}};
  PlotCurve line{netlists::stage_words(pass.stage), CurveStyle::marked, {}, {}, {}};
  for (const RampStep& step : pass.steps) {
    const NodeReading* reading = step.failure.empty() ? reading_of(step, node) : nullptr;
    if (reading != nullptr && reading->main_dc) {
      band.x.push_back(step.variac_vrms);
      band.y.push_back(reading->dc_v.low);
      band.y_high.push_back(reading->dc_v.high);
      line.x.push_back(step.variac_vrms);
      line.y.push_back(reading->dc_v.nominal);
    }
  }
  if (line.x.empty()) {
    return {};
  }
  return {band, line};
}

}  // namespace

Markup ramp_plot(const RampupResult& rampup) {
  const std::string node = main_supply(rampup);
  Plot plot;
  plot.words = {"plot-ramp", fmt::format("{} against the variac, no lamp.", node),
                "Line: nominal. Shaded: tolerance of parts and line. Plot your own readings into "
                "it: they must lie in the shade of their stage, on a straight line from near "
                "zero. A kink or a point outside means stop."};
  plot.x_label = "variac, V rms";
  plot.y_label = node + ", V DC";
  for (const netlists::Stage stage :
       {netlists::Stage::tubes_out, netlists::Stage::heaters, netlists::Stage::key_down}) {
    for (const RampPass& pass : rampup.passes) {
      if (!pass.with_lamp && pass.stage == stage && !node.empty()) {
        for (PlotCurve& curve : curves_of(pass, node)) {
          plot.curves.push_back(std::move(curve));
        }
      }
    }
  }
  return plotted(plot);
}

Markup lamp_plot(const RampupResult& rampup) {
  Plot plot;
  plot.words = {"plot-lamp", "Series lamp on a good rig.",
                "Watts in the lamp in per cent of its rated watts, stage by stage. Far above its "
                "line: something draws that should not. Measure the volts across the lamp; glow "
                "deceives."};
  plot.x_label = "variac, V rms";
  plot.y_label = "lamp, % of rated W";
  plot.log_y = true;
  double shorted = 0.0;
  for (const RampPass& pass : rampup.passes) {
    PlotCurve curve{netlists::stage_words(pass.stage), CurveStyle::marked, {}, {}, {}};
    for (const RampStep& step : pass.steps) {
      if (step.failure.empty() && step.lamp && step.lamp->percent_of_rated > kLeastPercent) {
        curve.x.push_back(step.variac_vrms);
        curve.y.push_back(step.lamp->percent_of_rated);
      }
    }
    if (!curve.x.empty()) {
      plot.curves.push_back(std::move(curve));
    }
  }
  for (const LampAdvice& lamp : rampup.lamps) {
    if (lamp.suggested && (shorted <= 0.0 || lamp.short_percent < shorted)) {
      shorted = lamp.short_percent;
    }
  }
  if (shorted > 0.0) {
    plot.marks.push_back({shorted, false, "first DC node shorted, full line"});
    plot.y_range = {{kLeastPercent, 200.0}};
  }
  return plotted(plot);
}

Markup scope_plot(const ScopeResult& scope) {
  Plot plot;
  plot.words = {"plot-scope",
                fmt::format("Ripple on {} as a scope shows it, {}.", scope.node,
                            netlists::stage_words(scope.stage)),
                "Through a capacitor rated above the supply, clipped on dead, or not at all. "
                "Twice the line frequency is good for a full-wave supply; the line frequency means "
                "that one leg does not work."};
  plot.x_label = "ms";
  plot.y_label = "V, AC part";
  for (const ScopePicture& picture : scope.pictures) {
    if (!picture.failure.empty()) {
      return figure(plot.words, std::nullopt, picture.failure);
    }
    PlotCurve curve{fmt::format("{}: {} V p-p at {} V DC",
                                picture.open_part.empty() ? std::string("all at work")
                                                          : picture.open_part + " open",
                                significant(picture.swing_vpp), significant(picture.mean_v)),
                    CurveStyle::line,
                    {},
                    picture.ac_v,
                    {}};
    for (const double time_s : picture.time_s) {
      curve.x.push_back((time_s - picture.time_s.front()) * 1e3);
    }
    thin_out(curve);
    plot.curves.push_back(std::move(curve));
  }
  return plotted(plot);
}

Markup inrush_plot(const core::Rig& rig, const InrushResult& inrush) {
  Plot plot;
  plot.words = {"plot-inrush", "Mains current at switch-on against the closing angle.",
                "Highest of the first cycle and of the first second, for the worst magnetism left "
                "in the core. Nobody chooses the angle: the highest point is the one to expect."};
  plot.x_label = "closing angle, degrees";
  plot.y_label = "A, peak";
  PlotCurve cycle{"first cycle", CurveStyle::marked, {}, {}, {}};
  PlotCurve second{"first second", CurveStyle::marked, {}, {}, {}};
  for (const InrushPoint& point : inrush.points) {
    if (point.failure.empty()) {
      cycle.x.push_back(point.angle_deg);
      cycle.y.push_back(point.first_cycle_peak_a);
      second.x.push_back(point.angle_deg);
      second.y.push_back(point.first_second_peak_a);
    }
  }
  const bool same = cycle.y == second.y;
  plot.curves.push_back(std::move(cycle));
  if (!same) {
    plot.curves.push_back(std::move(second));
  }
  for (const core::Part& part : rig.parts) {
    if (const auto* fuse = std::get_if<core::Fuse>(&part.data)) {
      plot.marks.push_back({fuse->rating.si(), false, part.designator + ", rated amps"});
    }
  }
  return plotted(plot);
}

}  // namespace firstglow::sim
