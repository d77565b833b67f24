#pragma once
/// @file
/// How long after switch-off does each capacitor stay charged, worst case first?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed_limits.hpp"
#include "sim/studies/bleed_rebound.hpp"
#include "sim/studies/drift.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct BleedOptions {
  BleedLimit limit = volts_limit(50.0);  ///< the first limit, to be judged
  std::optional<core::Seconds> within;   ///< instead of the time that goes with the limit; > 0
  double drift = kCarbonDrift;           ///< of carbon resistors, see with_drift()
  ReboundOptions rebound;
  Progress progress;
};

/// Time to fall below one limit and stay below it.
struct LimitTime {
  std::string limit;             ///< in words, e.g. "below 50 V"
  std::string source;            ///< key of the source
  std::optional<double> time_s;  ///< empty: never through the paths that are left
};

struct CapacitorDischarge {
  std::string part;
  double capacitance_f = 0.0;  ///< in this case
  double start_v = 0.0;        ///< at switch-off, signed plus to minus
  double start_j = 0.0;
  std::vector<LimitTime> limits;
  std::vector<double> time_s, volts, joules;  ///< curve
};

/// One way the discharge can go: a corner, and at most one path open.
struct DischargeCase {
  std::string name;       ///< e.g. "slowest corner, all paths intact", "R3 open"
  std::string open_part;  ///< designator, empty when none
  bool worst_corner = true;
  std::vector<CapacitorDischarge> capacitors;
  std::string last_part;  ///< the last to fall below the first limit (or never)
  std::optional<double> last_s;
  /// Of a case that never ends: the last part with a 10 Mohm meter left across it.
  std::optional<double> last_with_meter_s;
  bool rectifiers_conduct = false;  ///< times hold with charge passing on through rectifiers
  std::string failure;              ///< not empty: no answer for this case
};

struct BleederDuty {
  std::string part;
  double volts_dc = 0.0, watts = 0.0;  ///< highest continuous, worst of all stages at high line
  std::optional<double> rated_watts, working_volts;
};

struct BleedResult {
  std::string start;                  ///< the situation that leaves the highest charge, in words
  BleedLimit limit;                   ///< the first limit, judged
  std::vector<std::string> warnings;  ///< what no limit judges and a person must know
  std::vector<Rebound> rebounds;      ///< every capacitor whose start is known
  std::vector<DischargeCase> cases;   ///< worst first: slowest corner, nominal, then each path open
  std::vector<BleederDuty> bleeders;
  /// Largest |exact - ngspice| over the start volts, nominal case; empty when there was no run.
  std::optional<double> engine_deviation;
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Model: once the rectifiers stop, the rest is a linear network, solved exactly by matrix
/// exponential; the start is the worst state any of the margins situations reaches.
/// Left out, each on the safe side: tube loads (cold tubes do not help), leakage of capacitors.
/// Left out of the times on the UNSAFE side: dielectric absorption. What comes back is in
/// `rebounds`; the report must say so beside every time.
///
/// Verdicts come from limits only: the times of the intact rig, and the duty of its resistors. That
/// a single open part would leave a charge for ever, and that a shorted capacitor climbs back above
/// the limit, are warnings: no limit in use names a single fault or the volts after a short.
[[nodiscard]] BleedResult bleed(const core::Rig& rig, const BleedOptions& options,
                                WorkerPool& pool);

}  // namespace firstglow::sim
