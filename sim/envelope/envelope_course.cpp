#include <Eigen/Core>
#include <algorithm>
#include <map>

#include "core/error.hpp"
#include "sim/envelope/envelope.hpp"
#include "sim/envelope/envelope_map.hpp"

namespace firstglow::sim {
namespace {

/// Cubic Hermite between two points.
EnvelopePoint between(const EnvelopePoint& a, const EnvelopePoint& b, double time_s) {
  const double step_s = b.time_s - a.time_s;
  const double u = (time_s - a.time_s) / step_s;
  EnvelopePoint point;
  point.time_s = time_s;
  point.error_v = std::max(a.error_v, b.error_v);
  for (std::size_t i = 0; i < a.value.size(); ++i) {
    const double rise = b.value[i] - a.value[i];
    const double bend_a = step_s * a.rate[i] - rise;
    const double bend_b = rise - step_s * b.rate[i];
    point.value.push_back(a.value[i] + u * rise +
                          u * (1.0 - u) * ((1.0 - u) * bend_a + u * bend_b));
    point.rate.push_back((rise + (1.0 - 2.0 * u) * ((1.0 - u) * bend_a + u * bend_b) +
                          u * (1.0 - u) * (bend_b - bend_a)) /
                         step_s);
  }
  return point;
}

}  // namespace

EnvelopePoint StretchCourse::at(double time_s) const {
  FIRSTGLOW_REQUIRE(!points.empty(), "a course has points");
  const auto later =
      std::lower_bound(points.begin(), points.end(), time_s,
                       [](const EnvelopePoint& point, double time) { return point.time_s < time; });
  if (later == points.begin()) {
    return points.front();
  }
  if (later == points.end()) {
    return points.back();
  }
  if (later->time_s == time_s) {
    return *later;
  }
  return between(*(later - 1), *later, time_s);
}

double EnvelopeCourse::end_s() const {
  return stretches.empty() ? 0.0 : stretches.back().points.back().time_s;
}

std::size_t EnvelopeCourse::stretch_at(double time_s) const {
  FIRSTGLOW_REQUIRE(!stretches.empty(), "a course has stretches");
  std::size_t found = 0;
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    if (stretches[i].start_s <= time_s) {
      found = i;
    }
  }
  return found;
}

netlists::Deck deck_at(const EnvelopeStretch& stretch, double period_s, const EnvelopePoint& point,
                       double time_in_stretch_s) {
  class NoEngine final : public Engine {
    Waveforms run(const netlists::Deck& /*deck*/, const RunSpec& /*spec*/) override { return {}; }
  } none;
  const EnvelopeMap map(none, stretch, period_s, 200);
  return map.deck(Eigen::Map<const Eigen::VectorXd>(point.value.data(),
                                                    static_cast<Eigen::Index>(point.value.size())),
                  time_in_stretch_s);
}

std::vector<double> carried_state(const netlists::Deck& from, const std::vector<double>& state,
                                  const netlists::Deck& to) {
  const auto keyed = [](const netlists::Deck& deck) {
    std::vector<std::pair<int, int>> keys;
    std::map<int, int> seen;
    for (const netlists::ElementIndex index : netlists::state_elements(deck)) {
      const int part = deck.elements[static_cast<std::size_t>(index)].part;
      keys.emplace_back(part, seen[part]++);
    }
    return keys;
  };
  const auto from_keys = keyed(from);
  FIRSTGLOW_REQUIRE(from_keys.size() == state.size(), "one value per state of the first circuit");
  std::map<std::pair<int, int>, double> values;
  for (std::size_t i = 0; i < from_keys.size(); ++i) {
    values[from_keys[i]] = state[i];
  }
  std::vector<double> start = netlists::start_state(to);
  const auto to_keys = keyed(to);
  for (std::size_t i = 0; i < to_keys.size(); ++i) {
    const auto found = values.find(to_keys[i]);
    if (found != values.end()) {
      start[i] = found->second;
    }
  }
  return start;
}

}  // namespace firstglow::sim
