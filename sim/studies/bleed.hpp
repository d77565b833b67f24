#pragma once
/// @file
/// How long after switch-off does each capacitor stay charged, worst case first?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct BleedOptions {
  double limit_v = 50.0;  ///< volts to fall below, > 0
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
  std::string last_part;  ///< the last to fall below the volts limit (or never)
  std::optional<double> last_s;
  std::string failure;  ///< not empty: no answer for this case
};

struct BleederDuty {
  std::string part;
  double volts_dc = 0.0, watts = 0.0;  ///< highest continuous, worst of all stages at high line
  std::optional<double> rated_watts, working_volts;
};

struct BleedResult {
  std::string start;                 ///< the situation that leaves the highest charge, in words
  std::vector<DischargeCase> cases;  ///< worst first: slowest corner, nominal, then each path open
  std::vector<BleederDuty> bleeders;
  double engine_deviation = 0.0;  ///< largest |exact - ngspice| over the start volts, nominal case
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Model: once the rectifiers stop, the rest is a linear network, solved exactly by matrix
/// exponential; the start is the worst state any of the margins situations reaches.
/// Left out, each on the safe side: tube loads (cold tubes do not help), leakage of capacitors.
/// Left out on the UNSAFE side: dielectric absorption. A capacitor that was emptied can climb back
/// to 10-15 % of its start; the report must say so beside every time.
[[nodiscard]] BleedResult bleed(const core::Rig& rig, const BleedOptions& options,
                                WorkerPool& pool);

}  // namespace firstglow::sim
