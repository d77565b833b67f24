#pragma once
/// @file
/// What does the rig see at each line voltage, and which bucking winding puts it right?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct LinesOptions {
  std::vector<double> line_vrms;  ///< empty: the usual lines around the rig's nominal
  Progress progress;
};

struct HeaterAtLine {
  std::string part;
  double vrms = 0.0;
  double rated_vrms = 0.0;
  bool gas_filled = false;
};

struct SupplyAtLine {
  std::string node;
  std::optional<double> unloaded_v;  ///< first stage with the filter in
  std::optional<double> loaded_v;    ///< last stage the rig has
};

struct LineRow {
  double line_vrms = 0.0;
  double mains_a = 0.0;  ///< rms, last stage
  std::vector<HeaterAtLine> heaters;
  std::vector<SupplyAtLine> supplies;
  std::string failure;
};

/// A filament transformer whose secondary opposes the line.
struct Bucking {
  double line_vrms = 0.0;
  double wanted_v = 0.0;   ///< that the winding should take away
  double winding_v = 0.0;  ///< nearest winding sold for filaments
  double left_vrms = 0.0;  ///< at the rig with that winding
  double amps = 0.0;       ///< what the winding must carry, rms
  double va = 0.0;
};

struct LinesResult {
  std::vector<LineRow> rows;
  /// Line at which the heater that is highest in per cent stands at its rated volts; empty when
  /// the rig has no heaters.
  std::optional<double> right_line_vrms;
  std::vector<Bucking> bucking;  ///< for each line too high by more than 2 %
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// 110 115 117 120 125 V, or 220 230 240 V, with the rig's low, nominal and high line.
[[nodiscard]] std::vector<double> usual_lines_vrms(const core::Rig& rig);

/// Steady runs with all tubes in at each line; the dial at 1. Heaters are held to +-10 % of their
/// rated volts at every line between the rig's low and high, the limit of period tube sheets
/// [HEATER-10] (from memory); filaments of gas rectifiers to +-5 % [866A-DS].
/// Left out: the bucking transformer's own copper, which lowers the line by a few tenths of a volt
/// more under load (safe side for too high a line).
[[nodiscard]] LinesResult lines(const core::Rig& rig, const LinesOptions& options,
                                WorkerPool& pool);

}  // namespace firstglow::sim
