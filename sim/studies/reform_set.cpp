#include <fmt/format.h>

#include <algorithm>
#include <mutex>

#include "core/error.hpp"
#include "sim/studies/forming_source.hpp"
#include "sim/studies/reform.hpp"

namespace firstglow::sim {
namespace {

constexpr double kMarkShares[] = {0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0};
constexpr double kMinuteSeconds = 60.0;
constexpr double kRaiseShare = 0.01;  ///< of the line, each minute
constexpr double kLongestHoldSeconds = 4.0 * 3600.0;

/// Somebody at the variac, once a minute.
class SetProgramme {
 public:
  SetProgramme(const ReformPlan& plan, const ReformOptions& options, const SourceLine& line,
               double top_vrms, double nominal_vrms)
      : plan_(plan),
        options_(options),
        line_(line),
        top_vrms_(top_vrms),
        raise_vrms_(kRaiseShare * nominal_vrms) {}

  FormingCase run(const NamedGuess& guess) const {
    FormingCase shown;
    shown.name = guess.name;
    shown.words = guess.words;
    const core::Volts rated(plan_.rated_v);
    const core::Kelvin air(options_.air_k);
    FormingRun forming(core::oxide_can(core::Farads(plan_.capacitance_f), rated,
                                       core::Amps(plan_.limit_a), guess.guess, plan_.heat),
                       core::Farads(plan_.capacitance_f), {guess.guess.formed_share * rated, air},
                       air);
    double variac_vrms = 0.0;
    for (const double mark_vrms : plan_.marks_v) {
      if (!go_to(forming, mark_vrms, variac_vrms, shown)) {
        break;
      }
    }
    close_case(forming, shown);
    return shown;
  }

 private:
  /// Up to a mark; at the top mark it stays there until the limit is met.
  bool go_to(FormingRun& forming, double mark_vrms, double& variac_vrms, FormingCase& shown) const {
    const std::size_t first = forming.points().size();
    const bool top = mark_vrms >= top_vrms_;
    double held_s = 0.0;
    while (shown.end.empty()) {
      const bool low_current = forming.now().current_a < 0.5 * options_.ceiling_a;
      if (variac_vrms < mark_vrms && low_current) {
        variac_vrms = std::min(variac_vrms + raise_vrms_, mark_vrms);
        held_s = 0.0;
      } else if (variac_vrms >= mark_vrms && !top) {
        break;
      } else {
        held_s += kMinuteSeconds;
      }
      forming.run(line_.at(variac_vrms), kMinuteSeconds);
      check(forming, variac_vrms, held_s, shown);
    }
    shown.rows.push_back(row_of(forming, first, variac_vrms));
    return shown.end.empty();
  }

  void check(const FormingRun& forming, double variac_vrms, double held_s,
             FormingCase& shown) const {
    const FormingPoint& now = forming.now();
    if (now.can_k - options_.air_k > kHottestRiseKelvin) {
      shown.end = fmt::format("the can is {:.3g} K above the air", now.can_k - options_.air_k);
    } else if (variac_vrms >= top_vrms_ && held_s >= kLeastDwellSeconds &&
               now.current_a <= plan_.limit_a) {
      shown.end = "the leakage limit is met";
      shown.reached = true;
    } else if (held_s >= kLongestHoldSeconds) {
      shown.end = variac_vrms >= top_vrms_
                      ? "the current stays above the limit at the top"
                      : "the current stays above half the ceiling: no step further";
    }
  }

  const ReformPlan& plan_;
  const ReformOptions& options_;
  const SourceLine& line_;
  double top_vrms_, raise_vrms_;
};

ReformPlan set_plan(Engine& engine, const core::Rig& rig, std::size_t part,
                    const ReformOptions& options) {
  const double nominal_vrms = rig.mains().nominal.si();
  std::vector<double> marks_vrms;
  for (const double share : kMarkShares) {
    marks_vrms.push_back(share * nominal_vrms);
  }
  const auto& can = std::get<core::Capacitor>(rig.parts[part].data);
  if (!can.working_volts) {
    return begin_plan(rig.parts[part], options, 0.0);
  }
  const SourceLine line =
      source_line(engine, rig, part, options.lamp, marks_vrms, options.ceiling_a);
  const std::optional<double> rated_at = line.variac_for(can.working_volts->si());
  const double top_vrms = std::min(rated_at.value_or(nominal_vrms), nominal_vrms);
  ReformPlan plan = begin_plan(rig.parts[part], options, line.at(top_vrms).open_v);
  if (rated_at && *rated_at < nominal_vrms) {
    plan.remarks.push_back(fmt::format(
        "Unloaded it reaches its working volts at {:.4g} V rms of the variac already: stop there.",
        top_vrms));
  }
  for (const double mark : marks_vrms) {
    if (mark < top_vrms) {
      plan.marks_v.push_back(mark);
      plan.sources.push_back(line.at(mark));
    }
  }
  plan.marks_v.push_back(top_vrms);
  plan.sources.push_back(line.at(top_vrms));
  if (plan.failure.empty()) {
    const SetProgramme programme(plan, options, line, top_vrms, nominal_vrms);
    for (const NamedGuess& guess : forming_guesses(can.history.years_idle)) {
      plan.cases.push_back(programme.run(guess));
    }
  }
  return plan;
}

}  // namespace

ReformResult reform_in_set(const core::Rig& rig, const ReformOptions& options, WorkerPool& pool) {
  ReformResult result;
  result.in_set = true;
  result.rule_words = options.rule->words;
  result.rule_source = options.rule->source;
  result.ceiling_a = options.ceiling_a;
  result.air_k = options.air_k;
  const std::vector<std::size_t> parts = parts_to_form(rig, options.part);
  result.plans.resize(parts.size());
  std::mutex mutex;
  int done = 0;
  pool.for_each(parts.size(), [&](Engine& engine, std::size_t i) {
    try {
      result.plans[i] = set_plan(engine, rig, parts[i], options);
    } catch (const core::SimulationError& error) {
      result.plans[i].part = rig.parts[parts[i]].designator;
      result.plans[i].failure = error.what();
    }
    const std::scoped_lock lock(mutex);
    if (options.progress) {
      options.progress(++done, static_cast<int>(parts.size()));
    }
  });
  result.assumptions = {
      "In the set: tubes out, vr tubes and what hangs on the screens out, variac raised by 1 % of "
      "the line a minute while the can draws less than half the ceiling. Its current is read in "
      "its own lead (1 kohm there shows 1 V per mA).",
      "The rig is taken as a source for each can by itself: open volts and ohms from two periodic "
      "states at each mark, straight lines between them; the other cans draw the leakage of the "
      "record. Quasi-steady: the filter's seconds against the can's hours.",
      "Field law of the forming current [GUENTHERSCHULZE-1934]; damaged area, lost volts and "
      "remaining leakage of your can are not known and assumed, no source: three cans are shown. "
      "The readings decide: reform --log.",
      "Absorption, gas and sparks in the film are not modelled. Heat: whole surface, 10 W per "
      "square metre and kelvin; leakage doubles every 15 K: assumed.",
  };
  return result;
}

}  // namespace firstglow::sim
