#pragma once
/// @file
/// How long may each electrolytic of the rig work on, how warm does it run, and what do its years
/// ask for?

#include <optional>
#include <string>
#include <vector>

#include "core/capacitor_life.hpp"
#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct AgeOptions {
  double air_k = 313.15;  ///< around the cans, inside the cabinet
  Progress progress;
};

struct AgeRow {
  std::string part;
  double capacitance_f = 0.0;
  std::optional<double> working_v, rated_ripple_a;
  double volts = 0.0;     ///< DC, worst stage
  double ripple_a = 0.0;  ///< rms, worst stage
  double esr_ohm = 0.0;
  bool esr_assumed = false;
  double heat_w = 0.0;  ///< ripple into esr, and leakage
  double rise_k = 0.0;  ///< of the can above the air
  core::CanHeat can;
  std::optional<core::RatedLife> life;
  std::optional<double> ten_degree_h;  ///< at the can's temperature
  std::optional<double> maker_h;       ///< by the maker's form
  std::optional<int> years_old, years_idle;
  core::ShelfStep shelf;
  std::vector<core::ConditioningRule> rules;
};

struct AgeResult {
  double air_k = 0.0;
  std::vector<AgeRow> rows;
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
  std::string failure;
};

/// Ripple and volts of each electrolytic from the steady states of the stages from the filter on,
/// nominal parts, high line; heat as ripple squared times esr plus volts times leakage; the can's
/// rise from its size (core/electrolytic.hpp); life by the ten-degree rule at the can's own
/// temperature and by the maker's form at the air's. Heat of neighbours (tubes, bleeders) is in the
/// air's temperature, which the user states.
/// Left out: a core that is warmer than its can (unsafe side for the ten-degree figure; the
/// maker's form has it), electrolyte that has dried already.
[[nodiscard]] AgeResult age(const core::Rig& rig, const AgeOptions& options, WorkerPool& pool);

/// Usual loss angle of a new part at 120 Hz, and how often the esr it gives may have grown when a
/// part counts as worn out: common practice, no source.
inline constexpr double kUsualLoss = 0.15;
inline constexpr double kWornFactor = 2.0;

}  // namespace firstglow::sim
