#include "sim/studies/string_sharing.hpp"

#include <algorithm>

namespace firstglow::sim {

std::optional<double> worst_share(const core::SiliconDiode& diode, double string_v) {
  if (diode.in_series <= 1 || diode.avalanche || string_v <= 0.0) {
    return 1.0;
  }
  if (!diode.equaliser) {
    return std::nullopt;
  }
  const double n = diode.in_series;
  const double high_ohm = diode.equaliser->si() * (1.0 + diode.equaliser_tolerance.plus);
  const double low_ohm = diode.equaliser->si() * (1.0 - diode.equaliser_tolerance.minus);
  const double leak_a = diode.reverse_leakage ? diode.reverse_leakage->si() : kUsualLeakageAmps;
  const double string_a =
      (string_v + (n - 1.0) * leak_a * low_ohm) / (high_ohm + (n - 1.0) * low_ohm);
  // no diode can have more than the whole string
  return std::min(n, string_a * high_ohm / (string_v / n));
}

}  // namespace firstglow::sim
