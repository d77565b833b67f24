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

/// A capacitor that the open path left with nothing around it: its charge stays.
CapacitorCourse stranded(const BleedCircuit& circuit, int part, const CapacitorCourse& before) {
  CapacitorCourse course = before;
  const auto start = circuit.start_v.find(part);
  const double start_v = start == circuit.start_v.end() ? 0.0 : std::abs(start->second);
  for (std::size_t i = 0; i < circuit.limits.size(); ++i) {
    course.time_s[i] = start_v > circuit.limits[i].volts_for(before.capacitance_f)
                           ? std::nullopt
                           : std::optional(0.0);
  }
  return course;
}

/// Volts of a curve: of the linear course, or constant for a stranded capacitor.
void fill_curve(const BleedCircuit& circuit, const std::set<std::string>& lifted, int part,
                const CapacitorCourse& found, CapacitorDischarge& shown) {
  double end_s = 0.0;
  bool never = false;
  for (const LimitTime& limit : shown.limits) {
    end_s = std::max(end_s, 2.0 * limit.time_s.value_or(0.0));
    never = never || !limit.time_s;
  }
  end_s = never ? kLongestCurveSeconds : std::clamp(end_s, 1e-2, kLongestCurveSeconds);
  const BleedModel model = bleed_model(circuit, lifted, found.corner);
  const auto course = model.discharge.from(model.start);
  const auto state = model.state_of(part);
  for (int i = 0; i <= kCurvePoints; ++i) {
    const double time_s = end_s * i / kCurvePoints;
    const double volts = state ? course.state_at(*state, time_s) : shown.start_v;
    shown.time_s.push_back(time_s);
    shown.volts.push_back(volts);
    shown.joules.push_back(0.5 * shown.capacitance_f * volts * volts);
  }
}

CapacitorDischarge shown_of(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                            int part, const CapacitorCourse& found) {
  CapacitorDischarge shown;
  shown.part = circuit.rig.parts[static_cast<std::size_t>(part)].designator;
  shown.capacitance_f = found.capacitance_f;
  shown.start_v = circuit.start_v.at(part);
  shown.start_j = 0.5 * found.capacitance_f * shown.start_v * shown.start_v;
  for (std::size_t i = 0; i < circuit.limits.size(); ++i) {
    const BleedLimit& limit = circuit.limits[i];
    const bool already_below = found.time_s[i] && *found.time_s[i] == 0.0;
    if (!(limit.energy_j > 0.0 && already_below)) {
      shown.limits.push_back(LimitTime{limit.words, limit.source, found.time_s[i]});
    }
  }
  fill_curve(circuit, lifted, part, found, shown);
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

WorkedCase worked(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                  const std::map<int, CapacitorCourse>& found) {
  WorkedCase result;
  result.corners.insert(Corner{});
  for (const auto& [part, course] : found) {
    if (!circuit.start_v.contains(part)) {
      fail_case(result.shown, "the volts at switch-off are not known for " +
                                  circuit.rig.parts[static_cast<std::size_t>(part)].designator);
      return result;
    }
    result.shown.capacitors.push_back(shown_of(circuit, lifted, part, course));
    result.corners.insert(course.corner);
  }
  find_last(result.shown);
  result.largest_forward_v = -std::numeric_limits<double>::infinity();
  for (const Corner& corner : result.corners) {
    const BleedModel model = bleed_model(circuit, lifted, corner);
    result.largest_forward_v =
        std::max(result.largest_forward_v, model.discharge.from(model.start).largest_forward_v());
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

WorkedCase intact_case(const BleedCircuit& circuit, bool with_corners,
                       std::vector<BleedIsland>& islands) {
  islands = bleed_islands(circuit, {}, with_corners);
  std::map<int, CapacitorCourse> found;
  for (const BleedIsland& island : islands) {
    found.insert(island.capacitors.begin(), island.capacitors.end());
  }
  WorkedCase result = worked(circuit, {}, found);
  result.shown.worst_corner = with_corners;
  result.shown.name =
      with_corners ? "slowest corner, all paths intact" : "nominal values, all paths intact";
  return result;
}

WorkedCase open_case(const BleedCircuit& circuit, const std::string& path,
                     const std::vector<BleedIsland>& intact) {
  const int part = static_cast<int>(circuit.rig.find(path) - circuit.rig.parts.data());
  const std::set<std::string> lifted{path};
  WorkedCase unchanged;
  unchanged.changes_a_time = false;
  if (std::none_of(intact.begin(), intact.end(),
                   [&](const BleedIsland& island) { return island.parts.contains(part); })) {
    return unchanged;
  }
  std::map<int, CapacitorCourse> now;
  for (const BleedIsland& island : bleed_islands(circuit, lifted, true)) {
    now.insert(island.capacitors.begin(), island.capacitors.end());
  }
  bool changed = false;
  std::map<int, CapacitorCourse> found;
  for (const BleedIsland& island : intact) {
    for (const auto& [capacitor, before] : island.capacitors) {
      const auto place = now.find(capacitor);
      const CapacitorCourse course =
          place != now.end() ? place->second : stranded(circuit, capacitor, before);
      for (std::size_t i = 0; i < course.time_s.size(); ++i) {
        changed = changed || differs(course.time_s[i], before.time_s[i]);
      }
      found[capacitor] = course;
    }
  }
  if (!changed) {
    return unchanged;
  }
  WorkedCase result = worked(circuit, lifted, found);
  result.shown.name = path + " open";
  result.shown.open_part = path;
  return result;
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
