#pragma once
/// @file
/// What changes when other parts are fitted, and what must be added with them?

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct SwapOptions {
  int closing_angles = 8;  ///< for the margins of both rigs, 4 to 72
  /// The rig after the change with this resistance behind its new rectifiers; empty when there is
  /// no one place for it.
  std::function<core::Rig(core::Ohms)> with_series;
  Progress progress;
};

/// A supply at one stage, steady, nominal line and parts.
struct SwapReading {
  std::string node;
  netlists::Stage stage = netlists::Stage::tubes_out;
  double before_v = 0.0, after_v = 0.0;  ///< mean
  double before_vpp = 0.0, after_vpp = 0.0;
};

/// When a supply is there after switch-on, everything cold, nothing drawing.
struct SwapRise {
  std::string node;
  double before_s = 0.0, after_s = 0.0;            ///< to 90 % of where it settles
  double before_peak_v = 0.0, after_peak_v = 0.0;  ///< highest of the first second that it is on
};

/// The resistance that brings the supply back to what it was under full load.
struct SeriesResistance {
  std::string node;  ///< the supply watched
  double ohm = 0.0;
  double watts = 0.0;  ///< in it at the stage of full load
  double loaded_v = 0.0, unloaded_v = 0.0;
};

struct MarginChange {
  std::optional<core::Finding> before, after;
};

struct SwapResult {
  std::vector<SwapReading> readings;
  std::vector<SwapRise> rises;
  std::optional<SeriesResistance> series;
  std::vector<MarginChange> margins;    ///< only what changed: worst after first
  std::vector<core::Finding> findings;  ///< all of the rig after the change
  std::vector<std::string> assumptions;
};

/// Both rigs through the same steady stages, the same cold switch-on and the same margins.
///
/// Left out: what is left out of margins(); the time a cathode takes to fail when plate volts meet
/// it cold. The rise of a tube rectifier is its published warm-up plus the rise of the circuit with
/// the tube hot, so B+ in fact creeps up sooner and slower: errs to the safe side for the parts,
/// for a hand it says nothing.
/// @throws Cancelled; a run that fails is a finding with no verdict.
[[nodiscard]] SwapResult swap(const core::Rig& before, const core::Rig& after,
                              const SwapOptions& options, WorkerPool& pool);

}  // namespace firstglow::sim
