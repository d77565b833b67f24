#include "sim/studies/stick.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/bleed_moments.hpp"

namespace firstglow::sim {
namespace {

constexpr double kUsualOhm = 10e3;    // common practice, no source
constexpr double kOhmPerVolt = 1.0;   // [EIA-815]
constexpr double kPulseTimes = 10.0;  // [MIL-R-26], for 5 s
constexpr double kPulseSeconds = 5.0;
constexpr double kLeadOhm = 0.02;    // clip lead and contact (common practice, no source)
constexpr double kLeadHenry = 1e-6;  // a metre of wire out and back (common practice, no source)
constexpr int kCurvePoints = 200;
constexpr std::array<double, 12> kPreferred{1.0, 1.2, 1.5, 1.8, 2.2, 2.7,
                                            3.3, 3.9, 4.7, 5.6, 6.8, 8.2};  // [IEC-60063] E12
constexpr std::array<double, 7> kRatings{2.0, 5.0, 10.0, 25.0, 50.0, 100.0, 200.0};

double preferred_at_least(double ohm) {
  double decade = std::pow(10.0, std::floor(std::log10(ohm)));
  for (const double step : kPreferred) {
    if (step * decade >= ohm * (1.0 - 1e-9)) {
      return step * decade;
    }
  }
  return 10.0 * decade;
}

double preferred_at_most(double ohm) {
  const double decade = std::pow(10.0, std::floor(std::log10(ohm)));
  double best = decade;
  for (const double step : kPreferred) {
    best = step * decade <= ohm * (1.0 + 1e-9) ? step * decade : best;
  }
  return best;
}

/// The network a stick works on: no bleeder counts, every capacitor at its upper end.
class StickBench {
 public:
  StickBench(const core::Rig& rig, std::map<int, double> start_v)
      : rig_(rig), start_v_(std::move(start_v)) {
    std::set<std::string> lifted;
    Corner corner;
    for (const core::Part& part : rig.parts) {
      const auto* resistor = std::get_if<core::Resistor>(&part.data);
      if (resistor != nullptr && bleeds(*resistor)) {
        lifted.insert(part.designator);
      } else if (std::holds_alternative<core::Capacitor>(part.data)) {
        corner[part.designator] = 1.0;
      }
    }
    network_ = linear_network(netlists::build_deck(rig, bleed_situation(lifted, corner)));
  }

  [[nodiscard]] double largest_v() const {
    double largest = 0.0;
    for (const auto& [part, volts] : start_v_) {
      largest = std::max(largest, volts);
    }
    return largest;
  }

  /// The shots of a stick, and what its longest takes; empty when one never ends.
  [[nodiscard]] std::vector<StickShot> shots(double ohm, const BleedLimit& limit) const {
    std::vector<StickShot> found;
    for (const auto& [part, volts] : start_v_) {
      if (volts > 0.0) {
        found.push_back(shot(part, volts, ohm, limit));
      }
    }
    std::stable_sort(found.begin(), found.end(), [](const StickShot& a, const StickShot& b) {
      return a.hard.joules > b.hard.joules;
    });
    return found;
  }

 private:
  [[nodiscard]] const core::Capacitor& capacitor(int part) const {
    return std::get<core::Capacitor>(rig_.parts[static_cast<std::size_t>(part)].data);
  }

  /// The network with the stick across one capacitor, outside its esr; the state of that one.
  [[nodiscard]] std::pair<LinearNetwork, std::size_t> with_stick(int part, double ohm) const {
    LinearNetwork network = network_;
    for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
      const LinearBranch capacitor = network.capacitors[k];
      if (capacitor.part != part) {
        continue;
      }
      for (const LinearBranch& esr : network_.resistors) {
        if (esr.part == part && (esr.a == capacitor.a || esr.b == capacitor.a)) {
          const int outside = esr.a == capacitor.a ? esr.b : esr.a;
          network.resistors.push_back({outside, capacitor.b, ohm, -1});
          return {network, k};
        }
      }
    }
    // nothing else is left around it
    LinearNetwork alone;
    alone.node_count = 3;
    alone.capacitors = {{1, 0, capacitor(part).value.high().si(), part}};
    alone.resistors = {{1, 2, std::max(capacitor(part).esr.si(), 1e-3), part}, {2, 0, ohm, -1}};
    return {alone, 0};
  }

  [[nodiscard]] StickShot shot(int part, double volts, double ohm, const BleedLimit& limit) const {
    const auto [network, state] = with_stick(part, ohm);
    std::vector<double> low(network.capacitors.size() + network.inductors.size(), 0.0);
    std::vector<double> high = low;
    for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
      const auto start = start_v_.find(network.capacitors[k].part);
      high[k] = start == start_v_.end() ? 0.0 : start->second;
    }
    const LinearDischarge discharge(network);
    const auto bound = discharge.from_box(low, high);
    StickShot found;
    found.part = rig_.parts[static_cast<std::size_t>(part)].designator;
    found.start_v = volts;
    found.capacitance_f = capacitor(part).value.high().si();
    const double limit_v = limit.volts_for(found.capacitance_f);
    const double esr_ohm = std::max(capacitor(part).esr.si(), 1e-3);
    found.peak_a = volts / (ohm + esr_ohm);
    found.peak_w = found.peak_a * found.peak_a * ohm;
    found.limit_s = bound.last_above(state, limit_v);
    found.hard = hard_short(core::Volts(volts), core::Farads(found.capacitance_f),
                            core::Ohms(esr_ohm + kLeadOhm), core::Henries(kLeadHenry));
    fill_curve(bound, state, ohm, esr_ohm, found);
    return found;
  }

  /// The joules are those of the upper bound of the volts: never too few.
  static void fill_curve(const LinearDischarge::Course& bound, std::size_t state, double ohm,
                         double esr_ohm, StickShot& shot) {
    const double end_s = std::max(shot.limit_s.value_or(kPulseSeconds), 1e-4);
    double before_w = 0.0;
    for (int i = 0; i <= kCurvePoints; ++i) {
      const double time_s = end_s * i / kCurvePoints;
      const double volts = bound.state_at(state, time_s);
      const double amps = volts / (ohm + esr_ohm);
      const double watts = amps * amps * ohm;
      shot.joules += i == 0 ? 0.0 : 0.5 * (watts + before_w) * end_s / kCurvePoints;
      before_w = watts;
      shot.time_s.push_back(time_s);
      shot.volts.push_back(volts);
      shot.left_v = volts;
    }
  }

  const core::Rig& rig_;
  std::map<int, double> start_v_;
  LinearNetwork network_;
};

bool in_time(const std::vector<StickShot>& shots, double within_s) {
  return std::all_of(shots.begin(), shots.end(), [within_s](const StickShot& shot) {
    return shot.limit_s && *shot.limit_s <= within_s;
  });
}

/// Largest preferred value up to 10 kohm in time, but never below an ohm per volt.
double worked_out_ohm(const StickBench& bench, const StickOptions& options) {
  const double least_ohm = preferred_at_least(std::max(kOhmPerVolt * bench.largest_v(), 10.0));
  double ohm = std::max(kUsualOhm, least_ohm);
  while (ohm > least_ohm && !in_time(bench.shots(ohm, options.limit), options.within.si())) {
    ohm = preferred_at_most(ohm * 0.9);
  }
  return std::max(ohm, least_ohm);
}

/// Ten times its watts for 5 s; a longer hold is a load for good.
double watts_needed(const std::vector<StickShot>& shots) {
  double watts = 0.0;
  for (const StickShot& shot : shots) {
    watts = std::max({watts, shot.peak_w / kPulseTimes,
                      shot.joules / std::max(shot.limit_s.value_or(kPulseSeconds), kPulseSeconds)});
  }
  const auto rating = std::find_if(kRatings.begin(), kRatings.end(),
                                   [watts](double rated) { return rated >= watts; });
  return rating == kRatings.end() ? watts : *rating;
}

core::Finding finding(const char* rule, const std::string& part, const char* quantity,
                      const char* unit, std::optional<double> value, double limit,
                      const std::string& source) {
  core::Finding made;
  made.rule = rule;
  made.part = part;
  made.quantity = quantity;
  made.unit = unit;
  made.value = value;
  made.limit = limit;
  made.situation = "stick on, bleeders open, highest charge";
  made.limit_source = source;
  made.verdict = value && *value <= limit ? core::Verdict::safe : core::Verdict::unsafe;
  return made;
}

void judge(const StickOptions& options, StickResult& result) {
  for (const StickShot& shot : result.shots) {
    result.findings.push_back(finding("stick-current", shot.part, "first amps through the stick",
                                      "A", shot.peak_a, 1.0, "EIA-815"));
    result.findings.push_back(finding("stick-time", shot.part, "time to hold the stick", "s",
                                      shot.limit_s, options.within.si(), "time asked for"));
  }
  if (options.ohms) {
    core::Finding watts = finding("stick-watts", "stick", "rated watts it needs", "W", result.watts,
                                  options.watts.value_or(core::Watts()).si(), "MIL-R-26");
    if (!options.watts) {
      watts.limit.reset();
      watts.verdict = core::Verdict::no_verdict;
      watts.note = "The rating of the stick is not known: give it with --watts.";
    }
    result.findings.push_back(watts);
  }
}

/// Highest volts of any case; a capacitor without a known start is a reason to say nothing.
std::map<int, double> starts_of(const core::Rig& rig, const BleedResult& bled,
                                std::vector<core::Finding>& findings) {
  std::map<int, double> start_v;
  for (const Rebound& rebound : bled.rebounds) {
    start_v[static_cast<int>(rig.find(rebound.part) - rig.parts.data())] = rebound.start_v;
  }
  for (const core::Finding& one : bled.findings) {
    if (one.rule == "simulation") {
      findings.push_back(one);
    }
  }
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (std::holds_alternative<core::Capacitor>(rig.parts[i].data) &&
        !start_v.contains(static_cast<int>(i))) {
      core::Finding unknown;
      unknown.rule = "stick-time";
      unknown.part = rig.parts[i].designator;
      unknown.quantity = "volts at switch-off";
      unknown.note = "Not known: treat it as charged.";
      findings.push_back(unknown);
    }
  }
  return start_v;
}

}  // namespace

StickResult stick(const core::Rig& rig, const StickOptions& options, WorkerPool& pool) {
  BleedOptions bleeding;
  bleeding.limit = options.limit;
  bleeding.progress = options.progress;
  return stick(rig, options, bleed(rig, bleeding, pool));
}

StickResult stick(const core::Rig& rig, const StickOptions& options, const BleedResult& bled) {
  FIRSTGLOW_REQUIRE(!options.ohms || options.ohms->si() > 0.0, "a stick has ohms above 0");
  StickResult result;
  const StickBench bench(rig, starts_of(rig, bled, result.findings));
  result.limit = options.limit;
  result.within_s = options.within.si();
  result.worked_out = !options.ohms;
  result.ohm = options.ohms ? options.ohms->si() : worked_out_ohm(bench, options);
  result.shots = bench.shots(result.ohm, options.limit);
  result.watts = watts_needed(result.shots);
  result.working_v = bench.largest_v();
  if (options.watts) {
    result.given_watts = options.watts->si();
  }
  for (StickShot& shot : result.shots) {
    for (const Rebound& rebound : bled.rebounds) {
      if (rebound.part == shot.part) {
        shot.hook_s = rebound.short_needed_s;
      }
    }
  }
  judge(options, result);
  result.assumptions = {
      "Start: the highest volts of each capacitor over cold switch-on and all stages at high line, "
      "also with any one path open. The stick works alone: bleeders and equalisers count as open.",
      "The stick is across the capacitor, its own chassis lead on first. Neighbours that hang on "
      "the "
      "capacitor by chokes and droppers empty through the stick too.",
      "Hard short: 20 mohm and 1 uH of lead and contact beside the capacitor's own resistance "
      "(common practice, no source); the arc takes no volts.",
      "Not predicted: burns, metal thrown about, a capacitor that bursts.",
      "Predicted, not measured: only a proved meter tells what is there.",
  };
  return result;
}

}  // namespace firstglow::sim
