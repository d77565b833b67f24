#include "sim/report/rampup_tables.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kAcNodesPerTable = 7;
// A node with more DC on it than this share of its AC is printed with its DC volts.
constexpr double kDcShare = 0.1;
constexpr double kHotShare = 0.5;  // parts above this share of their rating are always listed
constexpr std::size_t kTopHeats = 5;

std::string variac(const RampStep& step) { return plain(step.variac_vrms); }

void add_band(std::vector<std::string>& cells, const Band& band) {
  cells.push_back(significant(band.low));
  cells.push_back(significant(band.nominal));
  cells.push_back(significant(band.high));
}

const NodeReading* reading_of(const RampStep& step, const std::string& node) {
  const auto found = std::find_if(step.nodes.begin(), step.nodes.end(),
                                  [&node](const NodeReading& r) { return r.node == node; });
  return found == step.nodes.end() ? nullptr : &*found;
}

/// Is there DC on the node, on any step, that a person must know of?
bool carries_dc(const RampPass& pass, const std::string& node) {
  return std::any_of(pass.steps.begin(), pass.steps.end(), [&node](const RampStep& step) {
    const NodeReading* reading = reading_of(step, node);
    return reading != nullptr &&
           (reading->main_dc || std::abs(reading->dc_v.nominal) > kDcShare * reading->ac_vrms);
  });
}

/// Does the node stay at the chassis on every step?
bool is_still(const RampPass& pass, const std::string& node) {
  return std::all_of(pass.steps.begin(), pass.steps.end(), [&node](const RampStep& step) {
    const NodeReading* reading = reading_of(step, node);
    return reading == nullptr ||
           (significant(reading->ac_vrms) == "0" && significant(reading->dc_v.low) == "0" &&
            significant(reading->dc_v.high) == "0");
  });
}

/// Nodes of the pass in the order met, those with DC on them or the others.
std::vector<std::string> nodes_of(const RampPass& pass, bool dc) {
  std::vector<std::string> names;
  for (const RampStep& step : pass.steps) {
    for (const NodeReading& reading : step.nodes) {
      const bool known = std::find(names.begin(), names.end(), reading.node) != names.end();
      if (!known && !is_still(pass, reading.node) && carries_dc(pass, reading.node) == dc) {
        names.push_back(reading.node);
      }
    }
  }
  return names;
}

void add_dc_node(Page& page, const RampPass& pass, const std::string& node) {
  page.blank().text(
      fmt::format("{} to chassis. V/V: DC volts per mains volt. AC, ripple: nominal.", node));
  Table table({{"variac\nV rms", Align::right},
               {"V DC\nmin", Align::right},
               {"V DC\nnominal", Align::right},
               {"V DC\nmax", Align::right},
               {"V/V\nmin", Align::right},
               {"V/V\nnominal", Align::right},
               {"V/V\nmax", Align::right},
               {"AC\nV rms", Align::right},
               {"ripple\nV p-p", Align::right}});
  for (const RampStep& step : pass.steps) {
    const NodeReading* reading = reading_of(step, node);
    if (reading == nullptr || !step.failure.empty()) {
      continue;
    }
    std::vector<std::string> cells{variac(step)};
    add_band(cells, reading->dc_v);
    add_band(cells, reading->per_mains_volt);
    cells.push_back(significant(reading->ac_vrms));
    cells.push_back(significant(reading->ripple_vpp));
    table.row(std::move(cells));
  }
  page.table(table, 2);
}

void add_ac_nodes(Page& page, const RampPass& pass, const std::vector<std::string>& nodes) {
  for (std::size_t first = 0; first < nodes.size(); first += kAcNodesPerTable) {
    const std::size_t last = std::min(first + kAcNodesPerTable, nodes.size());
    page.blank().text("Other nodes to chassis, V rms AC, nominal");
    std::vector<Column> columns{{"variac\nV rms", Align::right}};
    for (std::size_t i = first; i < last; ++i) {
      columns.push_back({nodes[i], Align::right});
    }
    Table table(columns);
    for (const RampStep& step : pass.steps) {
      if (!step.failure.empty()) {
        continue;
      }
      std::vector<std::string> cells{variac(step)};
      for (std::size_t i = first; i < last; ++i) {
        const NodeReading* reading = reading_of(step, nodes[i]);
        cells.push_back(reading != nullptr ? significant(reading->ac_vrms) : "-");
      }
      table.row(std::move(cells));
    }
    page.table(table, 2);
  }
}

/// A share of the stack in per cent, one decimal.
std::string share_words(double fraction) { return fmt::format("{:.1f}", fraction * 100.0); }

/// The midpoint that reads the same, as printed, on all steps; nullptr when there are several
/// joints, or it moves.
const MidpointReading* only_midpoint(const RampPass& pass) {
  const MidpointReading* first = nullptr;
  for (const RampStep& step : pass.steps) {
    if (!step.failure.empty()) {
      continue;
    }
    if (step.midpoints.size() != 1) {
      return nullptr;
    }
    const MidpointReading& here = step.midpoints.front();
    const auto same = [&here](double Band::*which, const Band& band) {
      return share_words(here.fraction.*which) == share_words(band.*which);
    };
    if (first == nullptr) {
      first = &here;
    } else if (here.node != first->node || !same(&Band::low, first->fraction) ||
               !same(&Band::nominal, first->fraction) || !same(&Band::high, first->fraction)) {
      return nullptr;
    }
  }
  return first;
}

}  // namespace

void add_mains_table(Page& page, const RampPass& pass) {
  std::vector<Column> columns{{"variac\nV rms", Align::right},  {"A rms\nmin", Align::right},
                              {"A rms\nnominal", Align::right}, {"A rms\nmax", Align::right},
                              {"W\nmin", Align::right},         {"W\nnominal", Align::right},
                              {"W\nmax", Align::right}};
  if (pass.with_lamp) {
    columns.push_back({"lamp\nV rms", Align::right});
    columns.push_back({"lamp\nW", Align::right});
    columns.push_back({"lamp\n% W", Align::right});
  }
  Table table(columns);
  for (const RampStep& step : pass.steps) {
    if (!step.failure.empty()) {
      continue;
    }
    std::vector<std::string> cells{variac(step)};
    add_band(cells, step.mains_a);
    add_band(cells, step.mains_w);
    if (pass.with_lamp) {
      cells.push_back(step.lamp ? significant(step.lamp->volts.nominal) : "-");
      cells.push_back(step.lamp ? significant(step.lamp->watts.nominal) : "-");
      cells.push_back(step.lamp ? fmt::format("{:.0f}", step.lamp->percent_of_rated) : "-");
    }
    table.row(std::move(cells));
  }
  if (!table.empty()) {
    page.table(table, 2);
  }
}

void add_node_tables(Page& page, const RampPass& pass) {
  for (const std::string& node : nodes_of(pass, true)) {
    add_dc_node(page, pass, node);
  }
  add_ac_nodes(page, pass, nodes_of(pass, false));
}

void add_midpoint_tables(Page& page, const RampPass& pass) {
  if (const MidpointReading* fixed = only_midpoint(pass)) {
    page.blank().text(
        fmt::format("{}, joint of the capacitors between {} and {}: {} - {} - {} % of their volts, "
                    "min - nominal - max, on every step",
                    fixed->node, fixed->top, fixed->bottom, share_words(fixed->fraction.low),
                    share_words(fixed->fraction.nominal), share_words(fixed->fraction.high)));
    return;
  }
  Table table({{"variac\nV rms", Align::right},
               {"\njoint"},
               {"\nof the stack"},
               {"%\nmin", Align::right},
               {"%\nnominal", Align::right},
               {"%\nmax", Align::right}});
  for (const RampStep& step : pass.steps) {
    for (const MidpointReading& reading : step.midpoints) {
      if (step.failure.empty()) {
        table.row({variac(step), reading.node, fmt::format("{} - {}", reading.top, reading.bottom),
                   share_words(reading.fraction.low), share_words(reading.fraction.nominal),
                   share_words(reading.fraction.high)});
      }
    }
  }
  if (!table.empty()) {
    page.blank().text("Joint of series capacitors, % of the volts across the stack");
    page.table(table, 2);
  }
}

void add_heat_table(Page& page, const RampPass& pass) {
  const auto last = std::find_if(pass.steps.rbegin(), pass.steps.rend(),
                                 [](const RampStep& step) { return step.failure.empty(); });
  if (last == pass.steps.rend() || last->heats.empty()) {
    return;
  }
  const auto share = [](const PartHeat& heat) {
    return heat.rated_watts && *heat.rated_watts > 0.0 ? heat.watts.high / *heat.rated_watts : -1.0;
  };
  std::vector<PartHeat> heats = last->heats;
  std::stable_sort(heats.begin(), heats.end(), [&share](const PartHeat& a, const PartHeat& b) {
    return share(a) != share(b) ? share(a) > share(b) : a.watts.high > b.watts.high;
  });
  page.blank().text(fmt::format("Heat at {} V, most loaded first (hot: {} and more of its rating)",
                                variac(*last), percent(kHotShare)));
  Table table({{"part"},
               {"W min", Align::right},
               {"nominal", Align::right},
               {"max", Align::right},
               {"rated W", Align::right},
               {"share at max"}});
  std::size_t listed = 0;
  for (const PartHeat& heat : heats) {
    if (listed++ >= kTopHeats && share(heat) < kHotShare) {
      continue;
    }
    std::vector<std::string> cells{heat.part};
    add_band(cells, heat.watts);
    cells.push_back(heat.rated_watts ? plain(*heat.rated_watts) : "?");
    cells.push_back(share(heat) < 0.0 ? "rating not known"
                                      : percent(share(heat)) + (share(heat) > 1.0 ? "  OVER"
                                                                : share(heat) >= kHotShare ? "  hot"
                                                                                           : ""));
    table.row(std::move(cells));
  }
  page.table(table, 2);
}

}  // namespace firstglow::sim
