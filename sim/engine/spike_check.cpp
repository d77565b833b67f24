#include "sim/engine/spike_check.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::sim {
namespace {

constexpr double kReverseShare = 0.05;   // of the largest forward current
constexpr double kReverseFloorA = 1e-3;  // below this a reverse current harms no reading
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
  // A spike raises the largest forward current too, so the share is taken of the forward
  // current that all but one point in twenty stay below.
  std::vector<double> sorted = amps;
  const auto rank = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() * 19 / 20);
  std::nth_element(sorted.begin(), rank, sorted.end());
  const double usual_a = std::max(0.0, *rank);
  const double limit_a =
      diode.saturation_a + std::max(kReverseFloorA, kReverseShare * std::max(usual_a, 0.0));
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

}  // namespace firstglow::sim
