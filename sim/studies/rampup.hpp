#pragma once
/// @file
/// What should every meter read on each variac step of each bring-up stage?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct RampupOptions {
  std::vector<double> steps_vrms;              ///< variac volts; empty: default ladder
  std::vector<netlists::Stage> stages;         ///< empty: all the rig has
  std::optional<netlists::LampInSeries> lamp;  ///< empty: one is suggested by computation
  bool without_lamp = true;                    ///< also the pass without lamp
  Progress progress;
};

struct NodeReading {
  std::string node;
  Band dc_v;             ///< over part tolerance and line (dial set at nominal line)
  double ac_vrms = 0.0;  ///< AC component, nominal
  double ripple_vpp = 0.0;
  Band per_mains_volt;   ///< dc_v over variac volts, part tolerance only: the best single check
  bool main_dc = false;  ///< a rectified DC node (filter or bias), not an AC winding end
  Band ac_v{};           ///< AC component, true rms, over part tolerance and line
};

struct MidpointReading {
  std::string node;  ///< joint of the series capacitors
  std::string top, bottom;
  Band fraction;  ///< of the stack's volts, at the joint
};

struct PartHeat {
  std::string part;
  Band watts;
  std::optional<double> rated_watts;
};

struct StopIf {
  std::string reading;  ///< what to look at, in words
  std::string unit;
  std::optional<double> below, above;
  std::string why;
};

struct LampReading {
  Band volts;  ///< rms across the lamp
  Band watts;
  double percent_of_rated = 0.0;  ///< nominal
};

/// A vr tube on one step, all parts nominal at nominal line.
struct RegulatorReading {
  std::string part;
  bool lit = false;
  bool lit_in_all = false;   ///< also in the low and the high corner of line and parts
  bool lit_in_some = false;  ///< in one of the three at least
  double volts = 0.0;        ///< DC across it
};

struct RampStep {
  double variac_vrms = 0.0;
  Band mains_a;  ///< true rms
  Band mains_w;
  std::optional<LampReading> lamp;
  std::vector<NodeReading> nodes;
  std::vector<MidpointReading> midpoints;
  std::vector<RegulatorReading> regulators;
  std::vector<PartHeat> heats;
  std::vector<StopIf> stop_if;
  std::vector<std::string> remarks;  ///< e.g. rectifier tubes that may not conduct yet
  std::string failure;   ///< not empty: the run failed, there is no prediction for this step
  bool refused = false;  ///< the failure is a rule, not a run: the step must not be taken
};

struct RampPass {
  netlists::Stage stage = netlists::Stage::transformer;
  bool with_lamp = false;
  std::vector<std::string> gates;  ///< what to wait for before plate volts go on, in words
  std::vector<RampStep> steps;
};

/// Lamp worth fitting for a stage: dim on a good rig, bright on a short.
struct LampAdvice {
  netlists::Stage stage = netlists::Stage::transformer;
  double rated_watts = 0.0;
  double good_percent = 0.0;   ///< lamp watts on a good rig, % of rated
  double short_percent = 0.0;  ///< lamp watts with the first DC node shorted, % of rated
  bool suggested = false;
  std::string why;
};

struct RampupResult {
  std::vector<RampPass> passes;
  std::vector<LampAdvice> lamps;  ///< every lamp tried, the suggested one marked, by stage
  std::vector<std::string> assumptions;
  /// Parts over rating on a step; failed steps; gas tubes whose filament cannot come first.
  std::vector<core::Finding> findings;
};

/// Ladder offered when the user gives none: 10 20 30 45 60 75 90 105 V and the nominal line,
/// doubled on 230 V lines (common practice, no source).
[[nodiscard]] std::vector<double> default_ladder_vrms(const core::Rig& rig);

[[nodiscard]] RampupResult rampup(const core::Rig& rig, const RampupOptions& options,
                                  WorkerPool& pool);

}  // namespace firstglow::sim
