#pragma once
/// @file
/// How are old electrolytics brought back: which volts, how long, what should the meter show?

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "core/electrolytic.hpp"
#include "core/leakage_limits.hpp"
#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/forming_run.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct ReformOptions {
  std::string part;                  ///< empty: every electrolytic
  bool in_set = false;               ///< behind variac (and lamp) instead of on the bench
  double ceiling_a = 5e-3;           ///< current never to be passed; bench practice, no source
  std::optional<double> series_ohm;  ///< bench; empty: chosen for the ceiling
  std::vector<double> steps_v;       ///< bench supply volts; empty: six shares of working volts
  std::optional<netlists::LampInSeries> lamp;
  const core::LeakageRule* rule = &core::leakage_rules().front();
  double air_k = 298.15;
  Progress progress;
};

/// One step of a programme, as a row of the sheet.
struct FormingRow {
  double mark_v = 0.0;      ///< bench: supply volts; set: variac volts, rms
  double series_ohm = 0.0;  ///< bench
  double from_s = 0.0, dwell_s = 0.0;
  double peak_a = 0.0;         ///< largest current of the step, charging included
  std::vector<double> read_a;  ///< after kReadMinutes; as many as the dwell reaches
  double end_a = 0.0;
  double can_v = 0.0;  ///< at the end
  double can_k = 0.0;  ///< hottest
};
inline constexpr std::array kReadMinutes{1.0, 5.0, 15.0, 30.0};

/// How a can of one kind goes through the programme.
struct FormingCase {
  std::string name;   ///< "expected", "slow", "poor"
  std::string words;  ///< what is assumed of the can
  std::vector<FormingRow> rows;
  bool reached = false;  ///< the end criterion
  std::string end;       ///< why it ended, in words
  double total_s = 0.0, end_a = 0.0, hottest_k = 0.0;
  std::vector<FormingPoint> points;
};

struct ReformPlan {
  std::string part;
  std::string failure;  ///< not empty: no plan, and why
  double capacitance_f = 0.0, rated_v = 0.0;
  double end_v = 0.0;       ///< highest volts of the programme
  double limit_a = 0.0;     ///< end criterion
  double series_ohm = 0.0;  ///< bench
  double last_ohm = 0.0;    ///< bench, for the last step; the same when the user chose one
  double series_w = 0.0;    ///< in the resistor with the can shorted
  double runaway_a = 0.0;   ///< leakage at end_v above which heating outruns cooling
  core::CanHeat heat;
  std::vector<FormingSource> sources;  ///< set: by variac mark
  std::vector<double> marks_v;
  std::vector<FormingCase> cases;
  std::vector<std::string> remarks;
};

struct ReformResult {
  bool in_set = false;
  std::string rule_words, rule_source;
  double ceiling_a = 0.0, air_k = 0.0;
  std::vector<ReformPlan> plans;
  std::vector<std::string> assumptions;
};

/// Rules by which a step is left, and by which the whole is given up (docs/methods/reforming.md).
inline constexpr double kHeldShare = 0.10;           ///< volts left on the resistor [OLD-STOCK]
inline constexpr double kLeastDwellSeconds = 300.0;  ///< current is read after 5 min [MIL-C-62]
inline constexpr double kSettledSeconds = 1800.0;    ///< in which a settled current falls by
inline constexpr double kSettledShare = 0.10;        ///< less than this: assumed
inline constexpr double kLastDwellSeconds = 3600.0;  ///< then the last step is judged [OLD-STOCK]
inline constexpr double kLongestStepSeconds = 12.0 * 3600.0;
inline constexpr double kHottestRiseKelvin = 15.0;  ///< of the can above the air: assumed

/// Each can by itself from a supply through a resistor, in steps; a step is left when at least 5
/// min have passed, the can holds 90 % of the supply and half the ceiling is not passed; the last
/// one when the leakage limit is met. Three cans are looked at: expected, slow, and one that never
/// gets there (core/electrolytic.hpp). No can here is the one on the bench: `--log` is for that.
[[nodiscard]] ReformResult reform_on_bench(const core::Rig& rig, const ReformOptions& options);

/// All cans in the rig, tubes out, behind the variac: raised by a fixed part of the line every
/// minute while the can draws less than half the ceiling.
///
/// Model: the rig as a source for each can at each variac mark, from two periodic states (nothing
/// added; a load across the can that draws about the ceiling): open volts and ohms, straight lines
/// between marks; other cans draw their leakage of the record meanwhile. Quasi-steady: good while
/// the can's own hours are long against the seconds of the filter.
[[nodiscard]] ReformResult reform_in_set(const core::Rig& rig, const ReformOptions& options,
                                         WorkerPool& pool);

/// The three cans of a plan: name, words, guess.
struct NamedGuess {
  std::string name, words;
  core::FormingGuess guess;
};
[[nodiscard]] std::vector<NamedGuess> forming_guesses(std::optional<int> years_idle);

/// The plan's head: values of the part and its end criterion; `failure` when they do not suffice.
[[nodiscard]] ReformPlan begin_plan(const core::Part& part, const ReformOptions& options,
                                    double end_v);
/// Part indices of the electrolytics that are meant.
[[nodiscard]] std::vector<std::size_t> parts_to_form(const core::Rig& rig, const std::string& part);
/// Fills reached, total, end current and hottest from the points of the run.
void close_case(const FormingRun& run, FormingCase& shown);
[[nodiscard]] FormingRow row_of(const FormingRun& run, std::size_t first_point, double mark_v);

}  // namespace firstglow::sim
