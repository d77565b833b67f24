#include "sim/studies/stack_drift.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "core/oxide_law.hpp"
#include "sim/studies/stiff_ode.hpp"

namespace firstglow::sim {
namespace {

/// Forming current of a film at the volts it stands: 0.002 C V (core/electrolytic.hpp).
constexpr double kStandingShare = 0.002;

double leak_a(const DriftSection& section, double volts) {
  const core::OxideCan can{core::Volts(section.rated_v),
                           core::Amps(section.leakage_a),
                           core::Amps(kStandingShare * section.capacitance_f * section.rated_v),
                           1.0,
                           1.0,
                           1.0};
  const core::OxideState state{core::Volts(section.formed_v), core::kLeakageReference};
  return core::leakage(can, state, core::Volts(volts)).total().si();
}

}  // namespace

std::vector<DriftPoint> stack_drift(const std::vector<DriftSection>& sections,
                                    std::vector<double> start_v, double hours) {
  FIRSTGLOW_REQUIRE(sections.size() >= 2 && start_v.size() == sections.size(),
                    "a stack has two sections or more, each with volts");
  const OdeRate rate = [&](double, const std::vector<double>& volts) {
    std::vector<double> drawn_a(volts.size());
    double sum = 0.0, elastance = 0.0;
    for (std::size_t k = 0; k < volts.size(); ++k) {
      drawn_a[k] = leak_a(sections[k], volts[k]);
      if (sections[k].equaliser_ohm) {
        drawn_a[k] += volts[k] / *sections[k].equaliser_ohm;
      }
      sum += drawn_a[k] / sections[k].capacitance_f;
      elastance += 1.0 / sections[k].capacitance_f;
    }
    std::vector<double> slope(volts.size());
    for (std::size_t k = 0; k < volts.size(); ++k) {
      slope[k] = (sum / elastance - drawn_a[k]) / sections[k].capacitance_f;
    }
    return slope;
  };
  OdeTolerance tolerance;
  tolerance.relative = 1e-5;
  tolerance.absolute.assign(sections.size(), 0.01);
  tolerance.longest_step_s = 600.0;
  std::vector<DriftPoint> points;
  static_cast<void>(integrate(rate, std::move(start_v), 0.0, hours * 3600.0, tolerance,
                              [&](double time_s, const std::vector<double>& volts) {
                                points.push_back({time_s, volts});
                                return true;
                              }));
  return points;
}

std::optional<double> first_above(const std::vector<DriftPoint>& points, std::size_t section,
                                  double volts) {
  if (points.front().volts.at(section) > volts) {
    return points.front().time_s;
  }
  for (std::size_t k = 1; k < points.size(); ++k) {
    const double before = points[k - 1].volts[section], after = points[k].volts[section];
    if (after > volts) {
      const double share = (volts - before) / (after - before);
      return points[k - 1].time_s + share * (points[k].time_s - points[k - 1].time_s);
    }
  }
  return std::nullopt;
}

double volts_at(const std::vector<DriftPoint>& points, std::size_t section, double time_s) {
  const auto later = std::find_if(points.begin(), points.end(), [time_s](const DriftPoint& point) {
    return point.time_s >= time_s;
  });
  if (later == points.begin()) {
    return later->volts.at(section);
  }
  if (later == points.end()) {
    return points.back().volts.at(section);
  }
  const DriftPoint& before = *(later - 1);
  const double share = (time_s - before.time_s) / (later->time_s - before.time_s);
  return before.volts.at(section) + share * (later->volts.at(section) - before.volts.at(section));
}

}  // namespace firstglow::sim
