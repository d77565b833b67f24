#include "sim/studies/bleed_cases.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "netlists/stage_parts.hpp"
#include "sim/studies/bleed_conducting.hpp"

namespace firstglow::sim {
namespace {

constexpr int kCurvePoints = 120;
constexpr double kLongestCurveSeconds = 3600.0;
/// Times that differ by less than this part, or this many seconds, count as equal.
constexpr double kSamePart = 0.01;
constexpr double kSameSeconds = 1e-3;

/// Which circuit is looked at, and from where.
struct View {
  const BleedCircuit& circuit;
  const std::set<std::string>& lifted;
  BleedStart from;
};

/// Largest volts of a capacitor at the start, signed; empty when not known.
std::optional<double> start_volts(const View& view, int part, const BleedModel& model) {
  auto found = model.start.find(part);
  if (found != model.start.end()) {
    return found->second.largest();
  }
  // the open path left it with nothing around it
  const StartBox alone = start_box(view.circuit.rig, view.circuit.moments, {part}, view.lifted);
  found = alone.find(part);
  return found == alone.end() ? std::nullopt : std::optional(found->second.largest());
}

/// A capacitor that the open path left with nothing around it: its charge stays.
CapacitorCourse stranded(const View& view, int part, const CapacitorCourse& before) {
  CapacitorCourse course = before;
  const BleedModel model = bleed_model(view.circuit, view.lifted, {}, view.from);
  const std::optional<double> start_v = start_volts(view, part, model);
  const LinearBranch alone{0, 0, before.capacitance_f, part};
  for (std::size_t i = 0; i < view.circuit.limits.size(); ++i) {
    // an unknown start counts as a charge that stays, and worked() then gives no answer for it
    const double limit_v = limit_volts(view.circuit, view.circuit.limits[i], alone, view.from);
    course.time_s[i] = start_v && std::abs(*start_v) <= limit_v ? std::optional(0.0) : std::nullopt;
  }
  return course;
}

struct CornerModel {
  BleedModel model;
  LinearDischarge::Course course;
};

/// Volts of a curve: the course, or constant for a stranded capacitor.
void fill_curve(const CornerModel& corner, int part, CapacitorDischarge& shown) {
  double end_s = 0.0;
  bool never = false;
  for (const LimitTime& limit : shown.limits) {
    end_s = std::max(end_s, 2.0 * limit.time_s.value_or(0.0));
    never = never || !limit.time_s;
  }
  end_s = never ? kLongestCurveSeconds : std::clamp(end_s, 1e-2, kLongestCurveSeconds);
  const auto state = corner.model.state_of(part);
  for (int i = 0; i <= kCurvePoints; ++i) {
    const double time_s = end_s * i / kCurvePoints;
    const double size_v = state ? corner.course.state_at(*state, time_s) : shown.start_v;
    // a bound has no sign of its own
    const double volts = corner.course.is_bound() ? std::copysign(size_v, shown.start_v) : size_v;
    shown.time_s.push_back(time_s);
    shown.volts.push_back(volts);
    shown.joules.push_back(0.5 * shown.capacitance_f * volts * volts);
  }
}

CapacitorDischarge shown_of(const View& view, int part, const CapacitorCourse& found,
                            const CornerModel& corner, double start_v) {
  CapacitorDischarge shown;
  shown.part = view.circuit.rig.parts[static_cast<std::size_t>(part)].designator;
  shown.capacitance_f = found.capacitance_f;
  shown.start_v = start_v;
  shown.start_j = 0.5 * found.capacitance_f * shown.start_v * shown.start_v;
  for (std::size_t i = 0; i < view.circuit.limits.size(); ++i) {
    const BleedLimit& limit = view.circuit.limits[i];
    const bool already_below = found.time_s[i] && *found.time_s[i] == 0.0;
    const bool tier = i > 0 && (limit.energy_j > 0.0 || limit.charge_c > 0.0);
    if (!(tier && already_below)) {
      shown.limits.push_back(LimitTime{limit.words, limit.source, found.time_s[i]});
    }
  }
  fill_curve(corner, part, shown);
  return shown;
}

/// The last capacitor below the volts limit; of several that never get there the one with the
/// most energy.
void find_last(DischargeCase& shown) {
  const auto rank = [](const CapacitorDischarge& c) {
    const auto time_s = c.limits.front().time_s;
    return std::pair(time_s.value_or(std::numeric_limits<double>::infinity()),
                     time_s ? 0.0 : c.start_j);
  };
  const auto last =
      std::max_element(shown.capacitors.begin(), shown.capacitors.end(),
                       [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  if (last != shown.capacitors.end()) {
    shown.last_part = last->part;
    shown.last_s = last->limits.front().time_s;
  }
}

ChargeMoment moment_of(const LinearNetwork& network, const std::vector<double>& start) {
  ChargeMoment moment;
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    moment[network.capacitors[k].part] = start[k];
  }
  return moment;
}

/// Longer is worse; never is worst of all.
bool longer(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

/// Raises what is shown of a capacitor to what was found with the rectifiers conducting.
void raise(const ConductingTimes& more, CapacitorDischarge& shown,
           const std::vector<BleedLimit>& limits) {
  for (std::size_t i = 0; i < limits.size(); ++i) {
    const auto known =
        std::find_if(shown.limits.begin(), shown.limits.end(),
                     [&](const LimitTime& limit) { return limit.limit == limits[i].words; });
    if (known == shown.limits.end()) {
      if (more.time_s[i] != std::optional(0.0)) {
        shown.limits.push_back(LimitTime{limits[i].words, limits[i].source, more.time_s[i]});
      }
    } else if (longer(more.time_s[i], known->time_s)) {
      known->time_s = more.time_s[i];
    }
  }
  for (std::size_t i = 0; i < shown.time_s.size(); ++i) {
    const double walked_v = more.course.walk->state_at(more.course.state, shown.time_s[i]);
    if (std::abs(walked_v) > std::abs(shown.volts[i])) {
      shown.volts[i] = walked_v;
      shown.joules[i] = 0.5 * shown.capacitance_f * walked_v * walked_v;
    }
  }
}

bool may_conduct(const std::map<Corner, CornerModel>& models, BleedStart from) {
  return std::any_of(models.begin(), models.end(), [&](const auto& one) {
    return one.second.model.joined_course(from).largest_forward_v() > kBlockedVolts;
  });
}

/// The courses with the rectifiers conducting count too.
void count_conducting(const View& view, WorkedCase& result) {
  const auto found = conducting_times(view.circuit, view.lifted, view.from);
  if (!found) {
    fail_case(result.shown,
              "a rectifier may conduct again during the discharge, between windings that nothing "
              "holds to the chassis; that course is not solved here");
    return;
  }
  result.shown.rectifiers_conduct = true;
  for (CapacitorDischarge& shown : result.shown.capacitors) {
    const auto part =
        static_cast<int>(view.circuit.rig.find(shown.part) - view.circuit.rig.parts.data());
    const auto more = found->find(part);
    if (more != found->end()) {
      raise(more->second, shown, view.circuit.limits);
      const BleedModel model =
          bleed_model(view.circuit, view.lifted, more->second.course.corner, view.from);
      result.doubts.push_back({bleed_situation(view.lifted, more->second.course.corner),
                               moment_of(model.network, more->second.course.start)});
    }
  }
}

/// The last part of a case that never ends, with nothing but a meter more on it.
std::optional<double> with_meter(const View& view, const std::string& name) {
  const auto& parts = view.circuit.rig.parts;
  const auto part = static_cast<int>(view.circuit.rig.find(name) - parts.data());
  BleedCircuit metered = view.circuit;
  metered.metered = part;
  for (const BleedIsland& island : bleed_islands(metered, view.lifted, view.from)) {
    const auto found = island.capacitors.find(part);
    if (found != island.capacitors.end()) {
      return found->second.time_s.front();
    }
  }
  // nothing else is left around it: R C ln
  const auto& capacitor = std::get<core::Capacitor>(parts[static_cast<std::size_t>(part)].data);
  const StartBox alone = start_box(view.circuit.rig, view.circuit.moments, {part}, view.lifted);
  const auto start = alone.find(part);
  if (start == alone.end()) {
    return std::nullopt;
  }
  const double farad = capacitor.value.high().si();
  const double limit_v = view.circuit.limits.front().volts_for(farad);
  const double turns = std::log(std::abs(start->second.largest()) / limit_v);
  return std::max(0.0, turns) * farad * kLeftMeterOhm;
}

WorkedCase worked(const View& view, const std::map<int, CapacitorCourse>& found) {
  WorkedCase result;
  std::map<Corner, CornerModel> models;
  const auto model_at = [&](const Corner& corner) -> const CornerModel& {
    auto place = models.find(corner);
    if (place == models.end()) {
      BleedModel model = bleed_model(view.circuit, view.lifted, corner, view.from);
      LinearDischarge::Course course = model.course(view.from);
      place = models.emplace(corner, CornerModel{std::move(model), std::move(course)}).first;
    }
    return place->second;
  };
  for (const auto& [part, course] : found) {
    const CornerModel& corner = model_at(course.corner);
    const std::optional<double> start_v = start_volts(view, part, corner.model);
    if (!start_v) {
      fail_case(result.shown,
                "the volts at switch-off are not known for " +
                    view.circuit.rig.parts[static_cast<std::size_t>(part)].designator);
      return result;
    }
    result.shown.capacitors.push_back(shown_of(view, part, course, corner, *start_v));
  }
  if (may_conduct(models, view.from)) {
    count_conducting(view, result);
  }
  find_last(result.shown);
  if (!result.shown.last_part.empty() && !result.shown.last_s) {
    result.shown.last_with_meter_s = with_meter(view, result.shown.last_part);
  }
  return result;
}

bool differs(const std::optional<double>& a, const std::optional<double>& b) {
  if (!a || !b) {
    return a.has_value() != b.has_value();
  }
  return std::abs(*a - *b) > std::max(kSameSeconds, kSamePart * std::max(*a, *b));
}

}  // namespace

std::vector<std::string> discharge_paths(const core::Rig& rig) {
  const std::vector<bool> in = netlists::stage_parts(rig, netlists::Stage::tubes_out);
  std::vector<std::string> paths;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::PartData& data = rig.parts[i].data;
    if (in[i] &&
        (std::holds_alternative<core::Resistor>(data) ||
         std::holds_alternative<core::Choke>(data) || std::holds_alternative<core::Fuse>(data) ||
         std::holds_alternative<core::ResistiveLoad>(data))) {
      paths.push_back(rig.parts[i].designator);
    }
  }
  return paths;
}

WorkedCase intact_case(const BleedCircuit& circuit, BleedStart from,
                       std::vector<BleedIsland>& islands) {
  islands = bleed_islands(circuit, {}, from);
  std::map<int, CapacitorCourse> found;
  for (const BleedIsland& island : islands) {
    found.insert(island.capacitors.begin(), island.capacitors.end());
  }
  WorkedCase result = worked(View{circuit, {}, from}, found);
  result.shown.worst_corner = from == BleedStart::box;
  result.shown.name = result.shown.worst_corner ? "slowest corner, all paths intact"
                                                : "nominal values, all paths intact";
  return result;
}

WorkedCase open_case(const BleedCircuit& circuit, const std::string& path,
                     const std::vector<BleedIsland>& intact) {
  const std::set<std::string> lifted{path};
  const View view{circuit, lifted, BleedStart::box};
  std::map<int, CapacitorCourse> now;
  for (const BleedIsland& island : bleed_islands(circuit, lifted, BleedStart::box)) {
    now.insert(island.capacitors.begin(), island.capacitors.end());
  }
  bool changed = false;
  std::map<int, CapacitorCourse> found;
  for (const BleedIsland& island : intact) {
    for (const auto& [capacitor, before] : island.capacitors) {
      const auto place = now.find(capacitor);
      const CapacitorCourse course =
          place != now.end() ? place->second : stranded(view, capacitor, before);
      for (std::size_t i = 0; i < course.time_s.size(); ++i) {
        changed = changed || (longer(course.time_s[i], before.time_s[i]) &&
                              differs(course.time_s[i], before.time_s[i]));
      }
      found[capacitor] = course;
    }
  }
  WorkedCase result;
  result.changes_a_time = changed;
  if (changed) {
    result = worked(view, found);
  }
  result.shown.name = path + " open";
  result.shown.open_part = path;
  return result;
}

netlists::Situation bleed_situation(const std::set<std::string>& lifted, const Corner& corner) {
  netlists::Situation situation;
  situation.stage = netlists::Stage::tubes_out;
  situation.mains_on = false;
  situation.lifted = lifted;
  situation.corner = corner;
  return situation;
}

void fail_case(DischargeCase& shown, const std::string& why) {
  shown.failure = why;
  shown.capacitors.clear();
  shown.last_part.clear();
  shown.last_s.reset();
}

double longest_limit_s(const DischargeCase& shown) {
  double longest_s = 0.0;
  for (const CapacitorDischarge& capacitor : shown.capacitors) {
    longest_s = std::max(longest_s, capacitor.limits.front().time_s.value_or(0.0));
  }
  return longest_s;
}

}  // namespace firstglow::sim
