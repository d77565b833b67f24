#pragma once
/// @file
/// Which vr tubes glow in a steady situation?

#include <map>
#include <set>
#include <string>

#include "core/rig.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// Finds the set of glowing vr tubes by trying: solve with all dark, light those that see their
/// strike volts, solve again, put out those whose current falls below what keeps a glow, and so
/// on until nothing changes.
///
/// Starts dark, as after switch-on; a tube lit at higher volts before, which would still glow, is
/// taken as dark. It is lit by the peak volts of the cycle, and put out by its lowest current.
/// Left out: the spread of strike volts below the published largest one (a tube may glow where
/// this says it is dark), delay of the first start in the dark.
class RegulatorStates {
 public:
  explicit RegulatorStates(const core::Rig& rig) : rig_(rig) {}

  /// The set to try after `run`, which was made with lit().
  /// @throws SimulationError when a tube can neither stay dark nor hold its glow.
  /// @returns true when the set changed and another run is due.
  [[nodiscard]] bool revise(const RigRun& run);

  [[nodiscard]] const std::set<std::string>& lit() const { return lit_; }
  /// Highest volts each tube saw while dark, by part index.
  [[nodiscard]] const std::map<int, double>& dark_v() const { return dark_v_; }

 private:
  [[nodiscard]] std::set<std::string> with_struck(const RigRun& run);
  [[nodiscard]] std::set<std::string> without_starved(const RigRun& run) const;

  const core::Rig& rig_;
  std::set<std::string> lit_;
  std::set<std::set<std::string>> tried_{{}};
  std::map<int, double> dark_v_;
};

/// Amps below which a glow goes out: a hundredth of the least current of the window, so that the
/// dim glow behind a starting resistor holds (common practice, no source).
[[nodiscard]] double sustaining_a(const core::VrTube& tube);

}  // namespace firstglow::sim
