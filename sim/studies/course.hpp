#pragma once
/// @file
/// Where do the meters stand, minute by minute, while the variac goes up its ladder?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct CourseOptions {
  std::vector<double> steps_vrms;  ///< variac volts, rising or falling; empty: default ladder
  netlists::Stage stage = netlists::Stage::tubes_out;
  std::optional<netlists::LampInSeries> lamp;
  double dwell_s = 120.0;  ///< on each step, its turn included; > turn_s
  double turn_s = 3.0;     ///< of the dial from one step to the next; > 0
  double off_s = 300.0;    ///< followed after the plug is out; 0: not at all
  double every_s = 60.0;   ///< between readings; > 0
  double error_v = 0.1;    ///< allowed in one step of the envelope [V]
  Progress progress;
};

struct CoursePart {
  double rms_a = 0.0, peak_a = 0.0, mean_w = 0.0;
  double peak_v = 0.0;  ///< across a capacitor, ripple included; 0 for other parts
};

/// What the mains cycle that begins at a time shows.
struct CourseReading {
  double time_s = 0.0;
  double dial_vrms = 0.0;  ///< 0: the plug is out
  double mains_a = 0.0, mains_w = 0.0;
  double lamp_vrms = 0.0, lamp_w = 0.0;           ///< 0 without a lamp
  std::vector<std::optional<NodeFigures>> nodes;  ///< as CourseResult::nodes; empty: not in circuit
  std::vector<std::optional<CoursePart>> parts;   ///< as CourseResult::parts
  double error_v = 0.0;                           ///< bound, see EnvelopePoint
};

struct CourseStep {
  double dial_vrms = 0.0;
  double start_s = 0.0, end_s = 0.0;  ///< from the first touch of the dial to that of the next
  /// From the start until every capacitor is within 1 % (and 0.1 V), every warm wire within 1 % of
  /// its kelvin, of where they stand at the end; empty when the end still moves that much.
  std::optional<double> settled_s;
  std::vector<std::string> remarks;
};

struct CourseResult {
  std::vector<std::string> nodes, parts;  ///< names, in the order of the rig
  std::vector<std::size_t> main_nodes;    ///< rectified DC nodes among `nodes`
  std::vector<CourseStep> steps;
  double off_at_s = 0.0;
  std::vector<CourseReading> readings;
  double largest_error_v = 0.0;
  int cycle_runs = 0;
  std::vector<core::Finding> findings;  ///< each capacitor's highest volts against its rating
  std::vector<std::string> assumptions;
};

/// The ladder as a programme of the envelope solver (sim/envelope/envelope.hpp): each turn of the
/// dial in six small ones, lamp, heaters and thermistors with the warmth they have by then, vacuum
/// rectifiers conducting after their published warm-up (gas rectifiers from the start: their
/// filament comes before any ladder), gas regulators lit as in the steady state
/// of each step. A ladder that a gas rectifier forbids ends before the step that is refused.
///
/// Left out: tolerances and line (rampup), the swing of a turn faster than a hand (margins,
/// inrush), forming of old capacitors (reform), loads after the plug is out (bleed: no load helps).
/// Nominal parts at nominal line: neither side is safe, a band is that of `rampup`.
[[nodiscard]] CourseResult course(const core::Rig& rig, const CourseOptions& options,
                                  WorkerPool& pool);

}  // namespace firstglow::sim
