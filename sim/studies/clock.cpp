#include "sim/studies/clock.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <mutex>
#include <tuple>

#include "core/error.hpp"
#include "sim/studies/clock_candidates.hpp"
#include "sim/studies/clock_curve.hpp"
#include "sim/studies/linear_discharge.hpp"
#include "sim/studies/rampup_sheet.hpp"

namespace firstglow::sim {
namespace {

constexpr double kSameShare = 0.01;  ///< predicted volts closer than this cannot be told apart
constexpr double kPredictedStartError = 0.10;
constexpr double kUnseenVolts = 1e-6;
constexpr double kFilterFarads = 0.25e-6;

bool has_filter_can(const core::Rig& rig, core::NodeIndex node) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [node](const core::Part& part) {
    const auto* can = std::get_if<core::Capacitor>(&part.data);
    return can != nullptr && can->value.nominal().si() >= kFilterFarads &&
           (can->plus == node || can->minus == node);
  });
}

/// The node of the most DC volts at which a filter capacitor ends, when none is asked for.
core::NodeIndex find_node(Engine& engine, const core::Rig& rig, const std::string& name) {
  for (std::size_t i = 0; i < rig.nodes.size(); ++i) {
    if (rig.nodes[i].name == name) {
      return static_cast<core::NodeIndex>(i);
    }
  }
  netlists::Situation situation;
  situation.stage = netlists::Stage::tubes_out;
  SteadyRunner runner(engine, rig);
  const ReadingSheet sheet = sheet_of(rig, runner.run(situation));
  std::size_t best = highest_node(sheet);
  bool found = false;
  for (std::size_t k = 0; k < sheet.nodes.size(); ++k) {
    if (has_filter_can(rig, sheet.nodes[k]) &&
        (!found || std::abs(sheet.node_dc_v[k]) > std::abs(sheet.node_dc_v[best]))) {
      best = k;
      found = true;
    }
  }
  return sheet.nodes.at(best);
}

class ClockStudy {
 public:
  ClockStudy(const core::Rig& rig, const ClockOptions& options, WorkerPool& pool)
      : rig_(rig), options_(options), pool_(pool) {}

  ClockResult run() {
    pool_.for_each(1, [&](Engine& engine, std::size_t) { prepare(engine); });
    const std::vector<ClockCandidate> candidates = clock_candidates(rig_);
    result_.fits.resize(candidates.size());
    std::mutex mutex;
    int done = 0;
    pool_.for_each(candidates.size(), [&](Engine& engine, std::size_t i) {
      result_.fits[i] = fit(engine, candidates[i]);
      const std::scoped_lock lock(mutex);
      if (options_.progress) {
        options_.progress(++done, static_cast<int>(candidates.size()));
      }
    });
    sort_out();
    add_finding();
    add_assumptions();
    return std::move(result_);
  }

 private:
  void prepare(Engine& engine) {
    place_.meter_ohm = options_.meter_ohm;
    if (!options_.part.empty()) {
      const auto& can = std::get<core::Capacitor>(rig_.find(options_.part)->data);
      place_.plus = can.plus;
      place_.minus = can.minus;
      result_.place = "across " + options_.part;
    } else {
      place_.plus = find_node(engine, rig_, options_.node);
      result_.place = rig_.node_name(place_.plus) + " to chassis";
    }
    const ClockCurve intact(engine, rig_, place_, "");
    result_.readings = options_.readings;
    if (result_.readings.size() == 1) {
      result_.start_predicted = true;
      result_.readings.insert(result_.readings.begin(), {0.0, std::abs(intact.start_v())});
    }
    fill_data();
    const FallShape nominal = intact.fall();
    intact_volts_ = nominal(data_.time_s);
    result_.intact_rc_s.nominal = rc_of(intact_volts_);
    result_.intact_rc_s.high = rc_of(intact.fall({}, corner(1.0))(data_.time_s));
    result_.intact_rc_s.low = rc_of(intact.fall({}, corner(-1.0))(data_.time_s));
    const double high = std::log(result_.intact_rc_s.high / result_.intact_rc_s.nominal);
    const double low = std::log(result_.intact_rc_s.low / result_.intact_rc_s.nominal);
    // the band from low to high is two standard deviations on either side of its middle
    room_ = {0.5 * (high + low), std::max(0.25 * (high - low), 1e-3)};
  }

  void fill_data() {
    std::vector<double> time_s, volts;
    for (const ClockReading& reading : result_.readings) {
      time_s.push_back(reading.time_s);
      volts.push_back(reading.volts);
    }
    const std::optional<double> rc_s = effective_rc(time_s, volts);
    FIRSTGLOW_REQUIRE(rc_s.has_value(), "the readings of a clock test fall");
    result_.rc_s = *rc_s;
    data_ = {time_s, volts, {}};
    for (std::size_t k = 0; k < time_s.size(); ++k) {
      const bool predicted = result_.start_predicted && k == 0;
      const double share = predicted ? kPredictedStartError : options_.volts_share;
      data_.error.push_back(std::hypot(share, time_s[k] > 0.0 ? options_.hand_s / *rc_s : 0.0));
    }
    const double span = std::log(volts.front() / volts.back());
    result_.rc_error_s = *rc_s * std::hypot(data_.error.front(), data_.error.back()) / span;
  }

  [[nodiscard]] double rc_of(const std::vector<double>& volts) const {
    if (*std::min_element(volts.begin(), volts.end()) > kUnseenVolts) {
      if (const std::optional<double> rc_s = effective_rc(data_.time_s, volts)) {
        return std::min(*rc_s, kForeverSeconds);
      }
    }
    return kForeverSeconds;
  }

  [[nodiscard]] Corner corner(double end) const {
    Corner all;
    for (const std::string& part : toleranced_parts(rig_, netlists::Stage::tubes_out)) {
      const core::PartData& data = rig_.find(part)->data;
      if (std::holds_alternative<core::Resistor>(data) ||
          std::holds_alternative<core::Capacitor>(data) ||
          std::holds_alternative<core::ResistiveLoad>(data)) {
        all[part] = end;
      }
    }
    return all;
  }

  ClockFit fit(Engine& engine, const ClockCandidate& candidate) const {
    ClockFit found;
    found.name = name_of(candidate);
    found.fault = candidate.fault;
    found.part = candidate.part;
    try {
      const ClockCurve curve(engine, rig_, place_,
                             candidate.fault == ClockFault::open ? candidate.part : "");
      if (candidate.low < candidate.high) {
        fit_factor(curve, candidate, found);
      } else {
        const FallShape shape = curve.fall();
        fill(found, shape, match_fall(data_, shape, room_));
      }
    } catch (const core::SimulationError& error) {
      found.failure = error.what();
    }
    return found;
  }

  void fit_factor(const ClockCurve& curve, const ClockCandidate& candidate, ClockFit& found) const {
    const StretchRoom held{room_.centre, 0.0};
    const auto off = [&](double ln_factor) {
      const FallShape shape = curve.fall({{candidate.part, std::exp(ln_factor)}});
      return match_fall(data_, shape, held).off;
    };
    const double best = lowest_point(off, std::log(candidate.low), std::log(candidate.high));
    found.factor = std::exp(best);
    const FallShape shape = curve.fall({{candidate.part, *found.factor}});
    ClockMatch match = match_fall(data_, shape, held);
    match.off += kClockChoice;
    fill(found, shape, match);
  }

  void fill(ClockFit& found, const FallShape& shape, const ClockMatch& match) const {
    found.off = match.off;
    found.volts = match.volts;
    const std::vector<double> plain = shape(data_.time_s);
    found.rc_s = rc_of(plain);
    const double lift = intact_volts_.front() / std::max(plain.front(), kUnseenVolts);
    bool same = found.fault != ClockFault::intact;
    for (std::size_t k = 0; k < plain.size(); ++k) {
      same = same && std::abs(plain[k] * lift - intact_volts_[k]) < kSameShare * intact_volts_[k];
    }
    found.seen = !same;
  }

  void sort_out() {
    std::stable_sort(result_.fits.begin(), result_.fits.end(),
                     [](const ClockFit& a, const ClockFit& b) {
                       return std::tuple(!a.failure.empty(), !a.seen, a.off) <
                              std::tuple(!b.failure.empty(), !b.seen, b.off);
                     });
    for (ClockFit& each : result_.fits) {
      each.fits = each.failure.empty() && each.seen && each.off <= kClockFits;
    }
    const double best = result_.fits.front().off;
    const auto counts = [&](const ClockFit& each) {
      return each.fits && each.off <= best + kClockTie;
    };
    const auto many = std::count_if(result_.fits.begin(), result_.fits.end(), counts) > 1;
    for (ClockFit& each : result_.fits) {
      each.tie = many && counts(each);
    }
  }

  void add_finding() {
    core::Finding finding;
    finding.rule = "bleeder-by-the-clock";
    finding.part = result_.place;
    finding.quantity = "effective RC of the discharge";
    finding.unit = "s";
    finding.value = result_.rc_s;
    finding.limit = result_.intact_rc_s.high;
    finding.limit_source = "slowest tolerance corner of the record";
    const ClockFit& best = result_.fits.front();
    const bool only_intact = best.fault == ClockFault::intact && best.fits && !best.tie;
    const auto intact =
        std::find_if(result_.fits.begin(), result_.fits.end(),
                     [](const ClockFit& each) { return each.fault == ClockFault::intact; });
    if (only_intact) {
      finding.verdict = core::Verdict::safe;
    } else if (intact != result_.fits.end() && intact->failure.empty() && !intact->fits) {
      finding.verdict = core::Verdict::unsafe;
      finding.note = best.fits ? best.name + (best.tie ? ", or others that fit as well" : "")
                               : "nothing that was tried fits";
    } else {
      finding.note = "a fault fits as well as the intact rig";
    }
    result_.findings.push_back(finding);
  }

  void add_assumptions() {
    result_.assumptions = {
        fmt::format("A reading is good to {:.2g} % and {:.2g} s of the hand (standard deviations); "
                    "{}.",
                    100.0 * options_.volts_share, options_.hand_s,
                    options_.meter_ohm > 0.0 ? fmt::format("the meter of {:.3g} Mohm stays on",
                                                           options_.meter_ohm * 1e-6)
                                             : "no meter stays on"),
        "Only the shape in time counts, not the height of the start. Tubes out or cold, plug out.",
        "Discharge exact, from the nominal steady state with the fault in it; tolerances as the "
        "record has them, all of them together as four standard deviations from low to high.",
        "One fault at a time. A drifted or low part counts from 10 % past its tolerance on.",
        "Leakage of capacitors is left out: it makes the fall faster and can hide a drifted "
        "bleeder.",
        "A path that cannot be told apart from here needs its own ohmmeter reading, cold.",
    };
    if (result_.start_predicted) {
      result_.assumptions.push_back(
          "The start is predicted, good to 10 %: a second reading makes the answer sharper.");
    }
  }

  const core::Rig& rig_;
  const ClockOptions& options_;
  WorkerPool& pool_;
  MeterPlace place_;
  ClockData data_;
  StretchRoom room_;
  std::vector<double> intact_volts_;
  ClockResult result_;
};

}  // namespace

ClockResult clock_test(const core::Rig& rig, const ClockOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(!options.readings.empty(), "a clock test has a reading");
  for (std::size_t k = 0; k < options.readings.size(); ++k) {
    FIRSTGLOW_REQUIRE(options.readings[k].volts > 0.0 &&
                          (k == 0 || options.readings[k].time_s > options.readings[k - 1].time_s),
                      "the readings of a clock test have volts and rising times");
  }
  return ClockStudy(rig, options, pool).run();
}

}  // namespace firstglow::sim
