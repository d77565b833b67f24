#pragma once
/// @file
/// Where do the joints of a stack go in hours, when an equaliser is open?

#include <optional>
#include <vector>

namespace firstglow::sim {

/// One section as it is, not as a band.
struct DriftSection {
  double capacitance_f = 0.0;
  double leakage_a = 0.0;  ///< at rated volts and 20 C
  double rated_v = 0.0;
  double formed_v = 0.0;  ///< volts its film stands
  std::optional<double> equaliser_ohm;
};

struct DriftPoint {
  double time_s = 0.0;
  std::vector<double> volts;  ///< by section
};

/// Volts of every section on a stiff supply of `total_v` from a start with that sum.
///
/// Model: C_k v_k' = I - v_k/R_k - i_k(v_k), the stack current I such that the sum of the volts
/// stays; i_k the oxide law at 20 C (core/oxide_law.hpp), film held at formed_v.
/// Left out: heating and forming, both slower and both in favour of the tight can (safe side).
/// @throws SimulationError
[[nodiscard]] std::vector<DriftPoint> stack_drift(const std::vector<DriftSection>& sections,
                                                  std::vector<double> start_v, double hours);

/// First time at which a section passes some volts, on straight lines between points.
[[nodiscard]] std::optional<double> first_above(const std::vector<DriftPoint>& points,
                                                std::size_t section, double volts);
/// Volts of a section at a time.
[[nodiscard]] double volts_at(const std::vector<DriftPoint>& points, std::size_t section,
                              double time_s);

}  // namespace firstglow::sim
