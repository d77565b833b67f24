#pragma once
/// @file
/// How do cans in series share the volts, and which equaliser keeps each within its rating?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/leakage_limits.hpp"
#include "core/rig.hpp"
#include "core/stack_split.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct StacksOptions {
  const core::LeakageRule* rule = &core::leakage_rules().front();  ///< where the record has none
  Progress progress;
};

struct SectionAnswer {
  std::string cans, equalisers;  ///< designators
  std::optional<double> working_v, surge_v, equaliser_ohm;
  double leakage_a = 0.0;
  bool leakage_assumed = false;
  double nominal_v = 0.0;        ///< nominal values, after hours; by capacitance without equalisers
  double fast_v = 0.0;           ///< worst, at the switch-on peak
  std::optional<double> slow_v;  ///< worst, after hours; empty: rests on leakage alone
};

/// Equaliser of one section open while the rig stands switched on.
struct OpenEqualiser {
  std::string part;
  std::string cans;  ///< of its section
  double after_hour_v = 0.0, after_day_v = 0.0;
  std::optional<double> over_working_s, over_surge_s;
};

struct StackAnswer {
  std::string top, bottom;
  double supply_v = 0.0;                ///< DC, high line, lightest load
  double peak_v = 0.0;                  ///< highest of the cold switch-on, high line
  std::vector<SectionAnswer> sections;  ///< top first
  std::optional<double> largest_ohm;    ///< equaliser that still keeps every can
  std::optional<double> advised_ohm;    ///< preferred value below, and its duty
  std::optional<core::EqualiserDuty> duty;
  double tenfold_ohm = 0.0;  ///< ten times the rated leakage
  double hundred_ohm = 0.0;  ///< 100 ohm per volt [ARRL-HB]
  std::vector<OpenEqualiser> open;
  std::vector<Trace> traces;
  std::string failure;
};

struct StacksResult {
  std::vector<StackAnswer> stacks;
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Volts of each stack from the steady state at high line with nothing drawing, and the peak of
/// cold switch-on at four closing angles (nominal parts); the worst corner of tolerance at once and
/// of leakage after hours by the closed forms of core/stack_split.hpp; the equaliser advised; and
/// each equaliser open for a day, its own can being tight (a tenth of the leakage) and the others
/// leaking all they may.
[[nodiscard]] StacksResult stacks(const core::Rig& rig, const StacksOptions& options,
                                  WorkerPool& pool);

}  // namespace firstglow::sim
