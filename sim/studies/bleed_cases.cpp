#include "sim/studies/bleed_cases.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "netlists/stage_parts.hpp"

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
  const double start_v = std::abs(start_volts(view, part, model).value_or(0.0));
  for (std::size_t i = 0; i < view.circuit.limits.size(); ++i) {
    course.time_s[i] = start_v > view.circuit.limits[i].volts_for(before.capacitance_f)
                           ? std::nullopt
                           : std::optional(0.0);
  }
  return course;
}

/// Volts of a curve: the course, or constant for a stranded capacitor.
void fill_curve(const BleedModel& model, int part, CapacitorDischarge& shown) {
  double end_s = 0.0;
  bool never = false;
  for (const LimitTime& limit : shown.limits) {
    end_s = std::max(end_s, 2.0 * limit.time_s.value_or(0.0));
    never = never || !limit.time_s;
  }
  end_s = never ? kLongestCurveSeconds : std::clamp(end_s, 1e-2, kLongestCurveSeconds);
  const auto state = model.state_of(part);
  for (int i = 0; i <= kCurvePoints; ++i) {
    const double time_s = end_s * i / kCurvePoints;
    const double size_v = state ? model.course.state_at(*state, time_s) : shown.start_v;
    // a bound has no sign of its own
    const double volts = model.course.is_bound() ? std::copysign(size_v, shown.start_v) : size_v;
    shown.time_s.push_back(time_s);
    shown.volts.push_back(volts);
    shown.joules.push_back(0.5 * shown.capacitance_f * volts * volts);
  }
}

CapacitorDischarge shown_of(const View& view, int part, const CapacitorCourse& found,
                            const BleedModel& model, double start_v) {
  CapacitorDischarge shown;
  shown.part = view.circuit.rig.parts[static_cast<std::size_t>(part)].designator;
  shown.capacitance_f = found.capacitance_f;
  shown.start_v = start_v;
  shown.start_j = 0.5 * found.capacitance_f * shown.start_v * shown.start_v;
  for (std::size_t i = 0; i < view.circuit.limits.size(); ++i) {
    const BleedLimit& limit = view.circuit.limits[i];
    const bool already_below = found.time_s[i] && *found.time_s[i] == 0.0;
    if (!(limit.energy_j > 0.0 && already_below)) {
      shown.limits.push_back(LimitTime{limit.words, limit.source, found.time_s[i]});
    }
  }
  fill_curve(model, part, shown);
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

void add_doubt(const View& view, const Corner& corner, const BleedModel& model,
               const std::map<int, CapacitorCourse>& found, WorkedCase& result) {
  if (model.course.largest_forward_v() <= kBlockedVolts) {
    return;
  }
  std::set<ChargeMoment> starts{
      moment_of(model.network, model.course.start_of_largest_forward_v())};
  for (std::size_t k = 0; k < model.network.capacitors.size(); ++k) {
    const auto course = found.find(model.network.capacitors[k].part);
    const double time_s =
        course == found.end() ? 0.0 : course->second.time_s.front().value_or(kLongestCurveSeconds);
    starts.insert(moment_of(model.network, model.course.start_of_largest(k, time_s)));
  }
  result.doubts.push_back(WorkedCase::Doubt{
      bleed_situation(view.lifted, corner), model, {starts.begin(), starts.end()}});
}

WorkedCase worked(const View& view, const std::map<int, CapacitorCourse>& found) {
  WorkedCase result;
  std::map<Corner, BleedModel> models;
  const auto model_at = [&](const Corner& corner) -> const BleedModel& {
    auto place = models.find(corner);
    if (place == models.end()) {
      place =
          models.emplace(corner, bleed_model(view.circuit, view.lifted, corner, view.from)).first;
    }
    return place->second;
  };
  for (const auto& [part, course] : found) {
    const BleedModel& model = model_at(course.corner);
    const std::optional<double> start_v = start_volts(view, part, model);
    if (!start_v) {
      fail_case(result.shown,
                "the volts at switch-off are not known for " +
                    view.circuit.rig.parts[static_cast<std::size_t>(part)].designator);
      return result;
    }
    result.shown.capacitors.push_back(shown_of(view, part, course, model, *start_v));
  }
  find_last(result.shown);
  for (const auto& [corner, model] : models) {
    add_doubt(view, corner, model, found, result);
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
        changed = changed || differs(course.time_s[i], before.time_s[i]);
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
