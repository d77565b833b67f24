#include "sim/engine/spike_check.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::sim {
namespace {

// A turn-off between two points leaves a few percent of the forward current in one point, which
// harms no reading; ringing leaves as much backwards as forwards.
constexpr double kPeakShare = 0.1;    // of the largest forward current
constexpr double kUsualShare = 0.25;  // of the forward current that 98 % of the points stay below
constexpr double kFloorA = 1e-3;      // below this a reverse current harms no reading
// Forward bias raises the junction capacitance above its zero-bias value, by less than this.
constexpr double kJunctionRise = 3.0;

}  // namespace

bool has_spike(const netlists::DiodeElement& diode, const std::vector<double>& time_s,
               const DiodeTrace& trace, double circuit_v) {
  const std::vector<double>& amps = *trace.current_a;
  const std::vector<double>& volts = *trace.drive_v;
  if (amps.empty()) {
    return false;
  }
  const double forward_a = std::max(0.0, *std::max_element(amps.begin(), amps.end()));
  if (forward_a > circuit_v / diode.series_ohm) {
    return true;
  }
  std::vector<double> sorted = amps;
  const auto rank = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() * 49 / 50);
  std::nth_element(sorted.begin(), rank, sorted.end());
  const double limit_a =
      diode.saturation_a + std::max({kFloorA, kUsualShare * *rank, kPeakShare * forward_a});
  for (std::size_t i = 1; i < amps.size(); ++i) {
    const double step_s = time_s[i] - time_s[i - 1];
    const double junction_a =
        step_s > 0.0 ? kJunctionRise * diode.junction_f * std::abs(volts[i] - volts[i - 1]) / step_s
                     : 0.0;
    if (amps[i] < -(limit_a + junction_a)) {
      return true;
    }
  }
  return false;
}

bool has_spike(const netlists::VacuumDiodeElement& tube, const std::vector<double>& current_a,
               double circuit_v) {
  const double most_a = tube.perveance * std::pow(circuit_v, 1.5);
  return std::any_of(current_a.begin(), current_a.end(),
                     [most_a](double amps) { return amps > most_a; });
}

}  // namespace firstglow::sim
