#include "sim/studies/bleed.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>

#include "core/error.hpp"
#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/bleed_engine_check.hpp"
#include "sim/studies/bleed_findings.hpp"
#include "sim/studies/bleed_start.hpp"
#include "sim/studies/bleed_warnings.hpp"

namespace firstglow::sim {
namespace {

/// The engine must agree with the exact course within this part of the start volts.
constexpr double kAgreement = 0.01;
constexpr double kLongestCheckSeconds = 3600.0;
constexpr double kLeastSeconds = 1e-3;
constexpr std::size_t kMostFailuresShown = 5;

class BleedStudy {
 public:
  BleedStudy(const core::Rig& rig, const BleedOptions& options, WorkerPool& pool)
      : rig_(rig),
        options_(options),
        pool_(pool),
        limits_(bleed_limits(options.limit)),
        start_(worst_start(rig, pool, options.progress)),
        circuit_{rig_, start_.moments, start_.nominal, limits_} {}

  BleedResult run() {
    result_.start = start_.words;
    std::vector<BleedIsland> islands;
    find_intact_cases(islands);
    nominal_seconds_ = checked_seconds(nominal_.shown);
    find_open_cases(islands);
    check_with_engine();
    collect();
    return std::move(result_);
  }

 private:
  void find_intact_cases(std::vector<BleedIsland>& islands) {
    const std::array<std::function<void(Engine&)>, 3> jobs{
        [&](Engine& engine) { stand_at_worst(engine, rig_, start_); },
        [&](Engine&) { slowest_ = intact_case(circuit_, BleedStart::box, islands); },
        [&](Engine&) {
          std::vector<BleedIsland> not_asked;
          nominal_ = intact_case(circuit_, BleedStart::nominal, not_asked);
        }};
    pool_.for_each(jobs.size(), [&](Engine& engine, std::size_t i) { jobs[i](engine); });
  }

  /// What a run with a path open leaves, or why there is no answer.
  struct OpenStart {
    std::vector<ChargeMoment> moments;
    std::string failure;
  };

  void find_open_cases(const std::vector<BleedIsland>& intact) {
    const std::vector<std::string> paths = discharge_paths(rig_);
    std::vector<OpenStart> starts(2 * paths.size());  // of each path switch-on and steady state
    // the check of the nominal case is one more job of the same size
    pool_.for_each(starts.size() + 1, [&](Engine& engine, std::size_t i) {
      if (i == starts.size()) {
        check_nominal(engine);
        return;
      }
      try {
        starts[i].moments = i % 2 == 0 ? switch_on_with_open(engine, rig_, paths[i / 2], start_)
                                       : steady_with_open(engine, rig_, paths[i / 2], start_);
      } catch (const core::SimulationError& error) {
        starts[i].failure = error.what();
      }
    });
    std::vector<WorkedCase> found(paths.size());
    pool_.for_each(paths.size(), [&](Engine&, std::size_t i) {
      found[i] = worked_open_case(paths[i], {starts[2 * i], starts[2 * i + 1]}, intact);
    });
    std::copy_if(found.begin(), found.end(), std::back_inserter(open_),
                 [](const WorkedCase& c) { return c.changes_a_time; });
    const auto last_s = [](const WorkedCase& c) {
      return c.shown.last_s.value_or(std::numeric_limits<double>::infinity());
    };
    std::stable_sort(open_.begin(), open_.end(), [&](const WorkedCase& a, const WorkedCase& b) {
      return last_s(a) > last_s(b);
    });
  }

  [[nodiscard]] WorkedCase worked_open_case(const std::string& path,
                                            const std::array<OpenStart, 2>& starts,
                                            const std::vector<BleedIsland>& intact) const {
    std::vector<ChargeMoment> moments = start_.moments;
    std::string failure;
    for (const OpenStart& start : starts) {
      moments.insert(moments.end(), start.moments.begin(), start.moments.end());
      failure = failure.empty() ? start.failure : failure;
    }
    const BleedCircuit circuit{rig_, moments, start_.nominal, limits_};
    WorkedCase worked = open_case(circuit, path, intact);
    if (!failure.empty()) {
      worked.changes_a_time = true;
      worked.doubts.clear();
      fail_case(worked.shown,
                "the volts at switch-off with this path open could not be found: " + failure);
    }
    return worked;
  }

  /// The nominal case, checked beside the open paths; others where a diode was not proved blocked.
  void check_with_engine() {
    struct Check {
      WorkedCase* worked = nullptr;
      std::size_t doubt = 0;
      std::string failure = {};
    };
    std::vector<Check> checks;
    for (WorkedCase* worked : all_cases()) {
      const bool doubtful = worked != &nominal_ && worked->shown.failure.empty();
      for (std::size_t k = 0; doubtful && k < worked->doubts.size(); ++k) {
        checks.push_back({worked, k});
      }
    }
    pool_.for_each(checks.size(), [&](Engine& engine, std::size_t i) {
      Check& check = checks[i];
      check.failure = failure_of_doubt(engine, *check.worked, check.worked->doubts[check.doubt]);
    });
    for (const Check& check : checks) {
      if (!check.failure.empty() && check.worked->shown.failure.empty()) {
        fail_case(check.worked->shown,
                  "a rectifier conducts again during the discharge, and " + check.failure);
      }
    }
    const bool agrees = result_.engine_deviation && *result_.engine_deviation <= kAgreement;
    if (!agrees && nominal_.shown.failure.empty()) {
      fail_case(nominal_.shown, nominal_failure_);
    }
  }

  [[nodiscard]] std::string name_of(int part) const {
    return part < 0 ? "no capacitor" : rig_.parts[static_cast<std::size_t>(part)].designator;
  }

  [[nodiscard]] double checked_seconds(const DischargeCase& shown) const {
    const double longest_s = longest_limit_s(shown);
    return longest_s > 0.0 ? std::min(longest_s, kLongestCheckSeconds) : 1.0;
  }

  void check_nominal(Engine& engine) {
    if (!nominal_.shown.failure.empty()) {
      return;
    }
    try {
      const BleedModel model = bleed_model(circuit_, {}, {}, BleedStart::nominal);
      ChargeMoment start_v;
      for (const auto& [part, range] : model.start) {
        start_v[part] = range.high_v;
      }
      const EngineDeviation found =
          engine_deviation(engine, rig_, bleed_situation({}, {}), start_v, nominal_seconds_);
      result_.engine_deviation = found.share;
      nominal_failure_ = fmt::format(
          "ngspice and the exact solution differ by {:.2g} of the start volts of {}, {:.3g} s "
          "after switch-off",
          found.share, name_of(found.part), found.time_s);
    } catch (const core::SimulationError& error) {
      nominal_failure_ = std::string("the check by ngspice failed: ") + error.what();
    }
  }

  /// Where rectifiers conduct, ngspice with its real diodes must find no longer time; empty when it
  /// does not.
  std::string failure_of_doubt(Engine& engine, const WorkedCase& worked,
                               const WorkedCase::Doubt& doubt) const {
    std::map<int, double> limit_v;
    for (const CapacitorDischarge& shown : worked.shown.capacitors) {
      limit_v[index_of(shown.part)] = limits_.front().volts_for(shown.capacitance_f);
    }
    try {
      const auto times = engine_times(engine, rig_, doubt.situation, doubt.start,
                                      1.05 * checked_seconds(worked.shown), limit_v);
      for (const CapacitorDischarge& shown : worked.shown.capacitors) {
        const std::optional<double> predicted_s = shown.limits.front().time_s;
        const auto found = times.find(index_of(shown.part));
        if (predicted_s && found != times.end() && is_later(found->second, *predicted_s)) {
          return "ngspice finds a longer time than predicted for " + shown.part;
        }
      }
      return {};
    } catch (const core::SimulationError& error) {
      return std::string("the check by ngspice failed: ") + error.what();
    }
  }

  static bool is_later(const std::optional<double>& engine_s, double predicted_s) {
    return !engine_s || *engine_s > predicted_s * (1.0 + kAgreement) + kLeastSeconds;
  }

  [[nodiscard]] int index_of(const std::string& part) const {
    return static_cast<int>(rig_.find(part) - rig_.parts.data());
  }

  /// From the largest volts of any case, at the limit of its capacitance there.
  void add_rebounds() {
    std::map<int, double> start_v = peaks_of(start_.moments);
    std::map<int, double> limit_v;
    for (const auto& [part, volts] : start_v) {
      const auto& data = rig_.parts[static_cast<std::size_t>(part)].data;
      limit_v[part] = limits_.front().volts_for(std::get<core::Capacitor>(data).value.high().si());
    }
    for (const DischargeCase& one : result_.cases) {
      for (const CapacitorDischarge& shown : one.capacitors) {
        double& highest_v = start_v[index_of(shown.part)];
        highest_v = std::max(highest_v, std::abs(shown.start_v));
      }
    }
    result_.rebounds = rebounds(rig_, start_v, limit_v, options_.rebound);
  }

  std::vector<WorkedCase*> all_cases() {
    std::vector<WorkedCase*> all{&slowest_, &nominal_};
    std::transform(open_.begin(), open_.end(), std::back_inserter(all),
                   [](WorkedCase& worked) { return &worked; });
    return all;
  }

  void collect() {
    if (!nominal_.shown.failure.empty() && slowest_.shown.failure.empty()) {
      // the corners rest on the same model as the nominal course
      fail_case(slowest_.shown, nominal_.shown.failure);
    }
    for (WorkedCase* worked : all_cases()) {
      if (!worked->shown.failure.empty()) {
        result_.findings.push_back(no_answer(worked->shown.name, worked->shown.failure));
      }
      result_.cases.push_back(worked->shown);
    }
    add_start_failures();
    add_findings(discharge_findings(circuit_, slowest_.shown, start_, options_.within));
    result_.bleeders = bleeder_duties(rig_, start_);
    add_findings(duty_findings(result_.bleeders, start_));
    result_.limit = limits_.front();
    add_rebounds();
    result_.warnings = bleed_warnings(rig_, result_, options_);
    result_.assumptions = {
        "Slowest corner: the largest volts of every capacitor over cold switch-on (8 closing "
        "angles, tolerances) and all steady stages, at high line; the others lie anywhere between "
        "the lowest and the highest share they have at such moments, whatever is worse: an upper "
        "bound that no single moment need reach. Chokes start without current.",
        "Nominal: the moment of most stored energy with nominal parts at high line.",
        "Rectifiers are proved to stay blocked; where they may conduct again, the course with them "
        "conducting counts as well, and ngspice must find no longer time.",
        "A path is taken as open both before the switch-off and after it.",
        "Tubes and loads that need them draw nothing; leakage of capacitors is not counted on.",
        "Dielectric rebound is not in the times; it has a table of its own, with the highest "
        "published absorption of the dielectric and nothing that bleeds it down.",
        "Energy of the iron is gone within milliseconds and not included.",
        "The plug is out of the wall, both poles.",
        "One path open at a time; two faults at once are not looked at.",
        "Stacked capacitors share as computed only while their equalisers are intact; without "
        "equalisers the sharing rests on leakage that nobody knows.",
        "Predicted, not measured: only a meter and a shorting stick tell what is there.",
    };
  }

  /// The first few in full; the rest as a number.
  void add_start_failures() {
    const std::size_t shown = std::min(start_.failures.size(), kMostFailuresShown);
    for (std::size_t i = 0; i < shown; ++i) {
      result_.findings.push_back(no_answer("search for the worst start", start_.failures[i]));
    }
    if (shown < start_.failures.size()) {
      result_.findings.push_back(
          no_answer("search for the worst start",
                    fmt::format("{} more runs failed", start_.failures.size() - shown)));
    }
  }

  void add_findings(const std::vector<core::Finding>& more) {
    result_.findings.insert(result_.findings.end(), more.begin(), more.end());
  }

  const core::Rig& rig_;
  const BleedOptions& options_;
  WorkerPool& pool_;
  std::vector<BleedLimit> limits_;
  WorstStart start_;
  BleedCircuit circuit_;
  WorkedCase slowest_, nominal_;
  double nominal_seconds_ = 0.0;
  std::string nominal_failure_;
  std::vector<WorkedCase> open_;
  BleedResult result_;
};

}  // namespace

BleedResult bleed(const core::Rig& rig, const BleedOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(
      std::isfinite(options.limit.volts_for(1e-6)) && options.limit.volts_for(1e-6) > 0.0,
      "a discharge limit is finite and above 0");
  const DriftedRig drifted = with_drift(rig, options.drift);
  BleedResult result = BleedStudy(drifted.rig, options, pool).run();
  if (!drifted.parts.empty()) {
    result.assumptions.push_back(fmt::format(
        "Carbon resistors age upward: {} (2 W or less, or watts not known, and not measured) may "
        "stand {:.0f} % above the upper end of the tolerance. [CARBON-AGEING] Single ones stand at "
        "four times their mark: only a meter finds those.",
        fmt::join(drifted.parts, ", "), 100.0 * options.drift));
  }
  return result;
}

}  // namespace firstglow::sim
