#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/rampup_gates.hpp"
#include "sim/report/rampup_tables.hpp"

namespace firstglow::sim {
namespace {

// Of the nodes that stand this close to the highest, the one with the least ripple is watched: it
// is the one a meter reads best (common practice, no source).
constexpr double kNearHighest = 0.75;

const RampStep* last_good_step(const RampPass& pass) {
  const auto last = std::find_if(pass.steps.rbegin(), pass.steps.rend(),
                                 [](const RampStep& step) { return step.failure.empty(); });
  return last == pass.steps.rend() ? nullptr : &*last;
}

const NodeReading* reading_of(const RampStep& step, const std::string& node) {
  const auto found = std::find_if(step.nodes.begin(), step.nodes.end(),
                                  [&node](const NodeReading& r) { return r.node == node; });
  return found == step.nodes.end() ? nullptr : &*found;
}

/// The node to watch on a stage: the supply, or the highest winding end while there is none.
struct Watched {
  std::string node;
  bool dc = false;
};

/// The joint of a stack says how the cans share, not what the supply does.
bool is_joint(const RampStep& step, const std::string& node) {
  return std::any_of(step.midpoints.begin(), step.midpoints.end(),
                     [&node](const MidpointReading& joint) { return joint.node == node; });
}

Watched watched_of(const RampStep& step) {
  const NodeReading* highest = nullptr;
  for (const NodeReading& reading : step.nodes) {
    if (reading.main_dc &&
        (highest == nullptr || std::abs(reading.dc_v.nominal) > std::abs(highest->dc_v.nominal))) {
      highest = &reading;
    }
  }
  if (highest == nullptr) {
    for (const NodeReading& reading : step.nodes) {
      highest = highest == nullptr || reading.ac_vrms > highest->ac_vrms ? &reading : highest;
    }
    return highest == nullptr ? Watched{} : Watched{highest->node, false};
  }
  const double least_v = kNearHighest * std::abs(highest->dc_v.nominal);
  const NodeReading* best = highest;
  for (const NodeReading& reading : step.nodes) {
    if (reading.main_dc && std::abs(reading.dc_v.nominal) >= least_v &&
        reading.ripple_vpp < best->ripple_vpp && !is_joint(step, reading.node)) {
      best = &reading;
    }
  }
  return {best->node, true};
}

std::string stop_amps(const RampStep& step) {
  for (const StopIf& stop : step.stop_if) {
    if (stop.unit == "A" && stop.above) {
      return significant(*stop.above);
    }
  }
  return "-";
}

/// Cells of the watched node: "min", "nominal", "max" of its DC, or its AC in the middle.
std::vector<std::string> watched_cells(const RampStep& step, const Watched& watched) {
  const NodeReading* reading = reading_of(step, watched.node);
  if (reading == nullptr) {
    return {"-", "-", "-"};
  }
  if (!watched.dc) {
    return {"", significant(reading->ac_vrms), ""};
  }
  return {significant(reading->dc_v.low), significant(reading->dc_v.nominal),
          significant(reading->dc_v.high)};
}

void add_ladder(Page& page, const RampPass& pass, const Watched& watched) {
  const std::string volts = watched.node + (watched.dc ? " DC" : " AC");
  std::vector<Column> columns{{"variac\nV rms", Align::right}};
  if (pass.with_lamp) {
    columns.push_back({"lamp\n% W", Align::right});
  }
  for (Column column : {Column{"mains\nA rms", Align::right}, Column{"STOP\nA above", Align::right},
                        Column{"mains\nW", Align::right}, Column{"\nmin", Align::right},
                        Column{volts + "\nV", Align::right}, Column{"\nmax", Align::right}}) {
    columns.push_back(std::move(column));
  }
  Table table(columns);
  for (const RampStep& step : pass.steps) {
    if (!step.failure.empty()) {
      continue;
    }
    std::vector<std::string> cells{plain(step.variac_vrms)};
    if (pass.with_lamp) {
      cells.push_back(step.lamp ? fmt::format("{:.0f}", step.lamp->percent_of_rated) : "-");
    }
    cells.push_back(significant(step.mains_a.nominal));
    cells.push_back(stop_amps(step));
    cells.push_back(significant(step.mains_w.nominal));
    for (std::string& cell : watched_cells(step, watched)) {
      cells.push_back(std::move(cell));
    }
    table.row(std::move(cells));
  }
  if (!table.empty()) {
    page.table(table, 2);
  }
}

/// One paragraph: all other supplies at the last step, nominal with their bands.
void add_other_supplies(Page& page, const RampStep& step, const Watched& watched) {
  std::string words;
  for (const NodeReading& reading : step.nodes) {
    if (reading.main_dc && reading.node != watched.node) {
      words += fmt::format("{}{} {} V DC ({} to {})", words.empty() ? "" : "; ", reading.node,
                           significant(reading.dc_v.nominal), significant(reading.dc_v.low),
                           significant(reading.dc_v.high));
    }
  }
  for (const MidpointReading& joint : step.midpoints) {
    words += fmt::format("{}{} {:.1f} to {:.1f} % of {} to {}", words.empty() ? "" : "; ",
                         joint.node, 100.0 * joint.fraction.low, 100.0 * joint.fraction.high,
                         joint.top, joint.bottom);
  }
  if (!words.empty()) {
    page.text(fmt::format("At {} V also: {}.", plain(step.variac_vrms), words), 2);
  }
}

}  // namespace

void add_stage_ladder(Page& page, const std::vector<const RampPass*>& passes) {
  add_gates(page, *passes.front());
  for (const RampPass* pass : passes) {
    const RampStep* last = last_good_step(*pass);
    page.blank().text(pass->with_lamp ? "With the lamp:" : "Without lamp:");
    add_step_warnings(page, *pass);
    if (last == nullptr) {
      continue;
    }
    const Watched watched = watched_of(*last);
    add_ladder(page, *pass, watched);
    if (pass == passes.back()) {
      add_other_supplies(page, *last, watched);
    }
  }
}

}  // namespace firstglow::sim
