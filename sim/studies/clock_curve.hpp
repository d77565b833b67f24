#pragma once
/// @file
/// How would the volts between two nodes fall after switch-off, if a part were open or off its
/// value?

#include <map>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/engine/engine.hpp"
#include "sim/studies/clock_match.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {

/// Where the meter is clipped on, and what it draws.
struct MeterPlace {
  core::NodeIndex plus = core::kOpenNode, minus = core::kChassis;
  double meter_ohm = 0.0;  ///< 0: none left on
};

/// The rig after switch-off with one path open (or none), from its own steady state with that path
/// open all the while.
///
/// Model: the linear network of the discharge (sim/studies/linear_network.hpp) with the meter; the
/// volts between the nodes are read on a probe of 1 nF behind 1 kohm. Starts from the mean volts of
/// each capacitor in the steady state, stage tubes out, nominal line and parts.
class ClockCurve {
 public:
  /// @throws SimulationError when the steady state is not found, or the place is not in the circuit
  ClockCurve(Engine& engine, const core::Rig& rig, const MeterPlace& place,
             const std::string& open_part);

  /// Magnitude of the volts over time, with values multiplied by part and parts at a corner.
  [[nodiscard]] FallShape fall(const std::map<std::string, double>& factor = {},
                               const Corner& corner = {}) const;
  [[nodiscard]] double start_v() const { return start_v_; }

 private:
  const core::Rig& rig_;
  MeterPlace place_;
  std::string open_part_;
  std::map<int, double> start_;  ///< capacitor volts by part index
  double start_v_ = 0.0;
};

}  // namespace firstglow::sim
