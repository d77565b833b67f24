#include "sim/studies/reform.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "core/error.hpp"
#include "core/stack_split.hpp"

namespace firstglow::sim {
namespace {

/// Shares of working volts for the steps on the bench: common practice, no source.
constexpr double kStepShares[] = {0.2, 0.4, 0.6, 0.8, 0.9, 1.0};
constexpr double kResistorReserve = 2.0;

struct BenchStep {
  double supply_v = 0.0, ohm = 0.0;
  bool last = false;
};

class BenchProgramme {
 public:
  BenchProgramme(const ReformPlan& plan, const ReformOptions& options)
      : plan_(plan), options_(options) {
    for (const double step_v : plan.marks_v) {
      steps_.push_back({step_v, plan.series_ohm, false});
    }
    if (plan.last_ohm < plan.series_ohm) {
      steps_.push_back({plan.marks_v.back(), plan.last_ohm, false});
    }
    steps_.back().last = true;
  }

  [[nodiscard]] FormingCase run(const NamedGuess& guess) const {
    FormingCase shown;
    shown.name = guess.name;
    shown.words = guess.words;
    const core::Volts rated(plan_.rated_v);
    const core::OxideCan can = core::oxide_can(core::Farads(plan_.capacitance_f), rated,
                                               core::Amps(plan_.limit_a), guess.guess, plan_.heat);
    const core::Kelvin air(options_.air_k);
    FormingRun forming(can, core::Farads(plan_.capacitance_f),
                       {guess.guess.formed_share * rated, air}, air);
    for (const BenchStep& step : steps_) {
      if (!go(forming, step, shown)) {
        break;
      }
      shown.reached = step.last;
    }
    close_case(forming, shown);
    return shown;
  }

 private:
  /// False when the programme is given up in this step.
  bool go(FormingRun& forming, const BenchStep& step, FormingCase& shown) const {
    const std::size_t first = forming.points().size();
    const double from_s = forming.now().time_s;
    const auto done = [&](const FormingPoint& point) {
      const double dwell_s = point.time_s - from_s;
      const double aim_a = step.last ? plan_.limit_a : 0.5 * options_.ceiling_a;
      const bool held = step.supply_v - point.can_v <= kHeldShare * step.supply_v;
      return dwell_s >= kLeastDwellSeconds && point.current_a <= aim_a &&
             (held || (!step.last && settled(forming, point, dwell_s)));
    };
    std::string given_up;
    forming.run({step.supply_v, step.ohm}, kLongestStepSeconds, [&](const FormingPoint& point) {
      given_up = reason(point, point.time_s - from_s, step, forming);
      return !given_up.empty() || done(point);
    });
    shown.rows.push_back(row_of(forming, first, step.supply_v));
    shown.rows.back().series_ohm = step.ohm;
    if (given_up.empty() && !done(forming.now())) {
      given_up = fmt::format("still not there after {:g} h at {:.4g} V",
                             kLongestStepSeconds / 3600.0, step.supply_v);
    }
    shown.end = given_up.empty() ? "the leakage limit is met" : given_up;
    return given_up.empty();
  }

  [[nodiscard]] static bool settled(const FormingRun& forming, const FormingPoint& point,
                                    double dwell_s) {
    return dwell_s > kSettledSeconds &&
           point.current_a >
               (1.0 - kSettledShare) * forming.current_at(point.time_s - kSettledSeconds);
  }

  /// Why to stop now; empty: no reason.
  [[nodiscard]] std::string reason(const FormingPoint& point, double dwell_s, const BenchStep& step,
                                   const FormingRun& forming) const {
    if (point.can_k - options_.air_k > kHottestRiseKelvin) {
      return fmt::format("the can is {:.3g} K above the air at {:.4g} V",
                         point.can_k - options_.air_k, step.supply_v);
    }
    // Flat: less than 2 % of fall in the last hour, above what would let the step end.
    if (step.last && dwell_s > 2.0 * kLastDwellSeconds && point.current_a > plan_.limit_a &&
        point.current_a > 0.98 * forming.current_at(point.time_s - kLastDwellSeconds)) {
      return fmt::format("the current stands still above the limit at {:.4g} V", step.supply_v);
    }
    return "";
  }

  const ReformPlan& plan_;
  const ReformOptions& options_;
  std::vector<BenchStep> steps_;
};

std::vector<double> bench_steps(const ReformPlan& plan, const ReformOptions& options) {
  std::vector<double> steps = options.steps_v;
  if (steps.empty()) {
    for (const double share : kStepShares) {
      steps.push_back(share * plan.rated_v);
    }
  }
  std::sort(steps.begin(), steps.end());
  return steps;
}

ReformPlan bench_plan(const core::Part& part, const ReformOptions& options) {
  const auto& can = std::get<core::Capacitor>(part.data);
  const double rated_v = can.working_volts ? can.working_volts->si() : 0.0;
  const double end_v = options.steps_v.empty()
                           ? rated_v
                           : *std::max_element(options.steps_v.begin(), options.steps_v.end());
  ReformPlan plan = begin_plan(part, options, end_v);
  if (!plan.failure.empty()) {
    return plan;
  }
  plan.series_ohm =
      options.series_ohm.value_or(core::e24_above(core::Ohms(plan.end_v / options.ceiling_a)).si());
  plan.series_w = plan.end_v * plan.end_v / plan.series_ohm;
  if (plan.end_v / plan.series_ohm > options.ceiling_a * (1.0 + 1e-9)) {
    plan.remarks.push_back(
        fmt::format("With the can shorted {:.3g} ohm pass {:.3g} mA at {:.4g} V, more than the "
                    "ceiling: the meter must be watched, or the resistor be higher.",
                    plan.series_ohm, 1e3 * plan.end_v / plan.series_ohm, plan.end_v));
  }
  // 10 % of the volts at the limit: then the can holds 90 % when the limit is met [OLD-STOCK].
  plan.last_ohm = options.series_ohm.value_or(std::min(
      plan.series_ohm, core::e24_below(core::Ohms(kHeldShare * plan.end_v / plan.limit_a)).si()));
  plan.marks_v = bench_steps(plan, options);
  const BenchProgramme programme(plan, options);
  for (const NamedGuess& guess : forming_guesses(can.history.years_idle)) {
    plan.cases.push_back(programme.run(guess));
  }
  plan.remarks.push_back(
      fmt::format("Resistor: {:.3g} W with the can shorted, so take one of {:.3g} W or more.",
                  plan.series_w, kResistorReserve * plan.series_w));
  return plan;
}

}  // namespace

std::vector<NamedGuess> forming_guesses(std::optional<int> years_idle) {
  const auto words = [](const core::FormingGuess& guess) {
    return fmt::format(
        "film stands {:.0f} % of working volts, {:.2g} % of it damaged, {:.0f} % of "
        "the leakage limit stays",
        100.0 * guess.formed_share, 100.0 * guess.damaged_share, 100.0 * guess.residual_share);
  };
  const core::FormingGuess expected = core::expected_guess(years_idle);
  const core::FormingGuess slow = core::slow_guess();
  const core::FormingGuess poor = core::poor_guess(years_idle);
  return {{"expected", words(expected), expected},
          {"slow", words(slow), slow},
          {"poor", words(poor), poor}};
}

std::vector<std::size_t> parts_to_form(const core::Rig& rig, const std::string& part) {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* can = std::get_if<core::Capacitor>(&rig.parts[i].data);
    if (can != nullptr && can->dielectric == core::Dielectric::electrolytic &&
        (part.empty() || part == rig.parts[i].designator)) {
      found.push_back(i);
    }
  }
  return found;
}

ReformPlan begin_plan(const core::Part& part, const ReformOptions& options, double end_v) {
  const auto& can = std::get<core::Capacitor>(part.data);
  ReformPlan plan;
  plan.part = part.designator;
  plan.capacitance_f = can.value.nominal().si();
  if (!can.working_volts) {
    plan.failure = "working_volts is not in the record: to which volts to form is not known";
    return plan;
  }
  plan.rated_v = can.working_volts->si();
  plan.end_v = end_v;
  if (end_v > plan.rated_v * (1.0 + 1e-9)) {
    plan.failure = fmt::format("{:.4g} V is above its working {:.4g} V; never form above them",
                               end_v, plan.rated_v);
    return plan;
  }
  if (end_v < plan.rated_v * (1.0 - 1e-9)) {
    plan.remarks.push_back(
        fmt::format("It is formed to {:.4g} V only, not to its working {:.4g} V: what lies between "
                    "(a surge at switch-on, a light load, high line) finds an unformed film.",
                    end_v, plan.rated_v));
  }
  plan.limit_a = options.rule->limit(can.value.nominal(), *can.working_volts).si();
  plan.heat = core::can_heat(can.history.can, can.value.nominal(), *can.working_volts);
  const core::OxideCan law =
      core::oxide_can(can.value.nominal(), *can.working_volts, core::Amps(plan.limit_a),
                      core::expected_guess(can.history.years_idle), plan.heat);
  plan.runaway_a = core::runaway_leakage(law, core::Volts(end_v)).si();
  if (plan.runaway_a < plan.limit_a) {
    plan.remarks.push_back(
        fmt::format("A can{} of {:.0f} x {:.0f} mm cannot lose the heat of its whole leakage limit "
                    "at {:.4g} V: above {:.3g} mA it would run away. Feel the can; stop when it "
                    "warms.",
                    plan.heat.size_assumed ? " (size assumed)" : "", 1e3 * plan.heat.diameter_m,
                    1e3 * plan.heat.length_m, end_v, 1e3 * plan.runaway_a));
  }
  return plan;
}

FormingRow row_of(const FormingRun& run, std::size_t first_point, double mark_v) {
  const std::vector<FormingPoint>& points = run.points();
  FormingRow row;
  row.mark_v = mark_v;
  row.from_s = points[first_point].time_s;
  row.dwell_s = points.back().time_s - row.from_s;
  for (std::size_t i = first_point; i < points.size(); ++i) {
    row.peak_a = std::max(row.peak_a, points[i].current_a);
    row.can_k = std::max(row.can_k, points[i].can_k);
  }
  for (const double minutes : kReadMinutes) {
    if (minutes * 60.0 <= row.dwell_s * (1.0 + 1e-9)) {
      row.read_a.push_back(run.current_at(row.from_s + minutes * 60.0));
    }
  }
  row.end_a = points.back().current_a;
  row.can_v = points.back().can_v;
  return row;
}

void close_case(const FormingRun& run, FormingCase& shown) {
  shown.points = run.points();
  shown.total_s = run.now().time_s;
  shown.end_a = run.now().current_a;
  for (const FormingPoint& point : shown.points) {
    shown.hottest_k = std::max(shown.hottest_k, point.can_k);
  }
}

ReformResult reform_on_bench(const core::Rig& rig, const ReformOptions& options) {
  ReformResult result;
  result.rule_words = options.rule->words;
  result.rule_source = options.rule->source;
  result.ceiling_a = options.ceiling_a;
  result.air_k = options.air_k;
  const std::vector<std::size_t> parts = parts_to_form(rig, options.part);
  for (const std::size_t i : parts) {
    ReformPlan plan;
    try {
      plan = bench_plan(rig.parts[i], options);
    } catch (const core::SimulationError& error) {
      plan.part = rig.parts[i].designator;
      plan.failure = error.what();
    }
    result.plans.push_back(std::move(plan));
  }
  result.assumptions = {
      "The can is out of the rig, by itself, plus to plus, a meter for current in its lead and "
      "one for volts across it; the supply is steady DC.",
      "Field law of the forming current [GUENTHERSCHULZE-1934]; damaged area, lost volts and "
      "remaining leakage of your can are not known and assumed, no source: three cans are shown. "
      "The readings decide: reform --log.",
      "Absorption, gas and sparks in the film are not modelled: a real current is higher in the "
      "first minutes of a step, and a can may fail at any volts.",
      "Heat: whole surface, 10 W per square metre and kelvin, no draught; leakage doubles every "
      "15 K: assumed.",
  };
  return result;
}

}  // namespace firstglow::sim
