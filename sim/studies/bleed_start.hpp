#pragma once
/// @file
/// With how many volts does each capacitor start when the supply is switched off, at worst?

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed.hpp"
#include "sim/studies/bleed_moments.hpp"

namespace firstglow::sim {

class SteadyRunner;

/// Volts of `moments` and `duty` are raised by kStartError (sim/studies/start_outcome.hpp).
struct WorstStart {
  std::vector<ChargeMoment> moments;  ///< of each run, the moment at which each capacitor peaks
  std::vector<ChargeMoment> nominal;  ///< those of them with nominal parts
  std::string words;                  ///< situation of the highest volts of all
  netlists::Situation worst_cold;     ///< the cold switch-on of the highest volts
  std::map<int, BleederDuty> duty;    ///< of bleeders and equalisers, by part index
  std::vector<std::string> failures;  ///< runs that gave no answer: the start may be too low
  /// Stands at the nominal steady state of that stage, from where to look for like ones. Never
  /// empty; where there is no such state it begins with nothing.
  std::shared_ptr<const SteadyRunner> near;
};

/// Looked at, all at high line: cold switch-on with tubes out at 8 closing angles over a whole
/// cycle, 0.6 s; the same at the worst angles with each tolerance by itself and with all that
/// raise a capacitor's volts together; the steady state of every stage from the filter on,
/// also with bleeders and equalisers at the ends of their tolerance. Volts are those at the
/// terminals.
[[nodiscard]] WorstStart worst_start(const core::Rig& rig, WorkerPool& pool,
                                     const Progress& progress);

/// Moves `start.near` on to the steady state of `start.worst_cold`, where it has one.
void stand_at_worst(Engine& engine, const core::Rig& rig, WorstStart& start);

/// Moments of the worst cold switch-on with a path open: the fault may be older than the
/// switch-off. @throws SimulationError
[[nodiscard]] std::vector<ChargeMoment> switch_on_with_open(Engine& engine, const core::Rig& rig,
                                                            const std::string& path,
                                                            const WorstStart& start);
/// Moments of the steady state with tubes out and a path open. A rail that the open path leaves
/// without any load never repeats itself from cycle to cycle; then a cold switch-on of
/// kLongSwitchOnSeconds counts instead, provided that its peaks no longer rise at the end.
/// @throws SimulationError
[[nodiscard]] std::vector<ChargeMoment> steady_with_open(Engine& engine, const core::Rig& rig,
                                                         const std::string& path,
                                                         const WorstStart& start);

}  // namespace firstglow::sim
