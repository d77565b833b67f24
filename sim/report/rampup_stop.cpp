#include <fmt/format.h>

#include <algorithm>
#include <cstddef>

#include "sim/report/numbers.hpp"
#include "sim/report/rampup_tables.hpp"

namespace firstglow::sim {
namespace {

constexpr std::ptrdiff_t kLimitsPerTable = 6;

/// The stop limits of a pass that watch the same reading for the same reason.
struct Watched {
  std::string reading, unit, why;
};

std::vector<Watched> watched_readings(const RampPass& pass) {
  std::vector<Watched> all;
  for (const RampStep& step : pass.steps) {
    for (const StopIf& stop : step.stop_if) {
      const bool known = std::any_of(all.begin(), all.end(), [&stop](const Watched& watched) {
        return watched.reading == stop.reading && watched.unit == stop.unit;
      });
      if (!known) {
        all.push_back({stop.reading, stop.unit, stop.why});
      }
    }
  }
  return all;
}

const StopIf* stop_of(const RampStep& step, const Watched& watched) {
  const auto found =
      std::find_if(step.stop_if.begin(), step.stop_if.end(), [&watched](const StopIf& stop) {
        return stop.reading == watched.reading && stop.unit == watched.unit;
      });
  return found == step.stop_if.end() ? nullptr : &*found;
}

std::string limit_cell(const std::optional<double>& limit, const char* sign) {
  return limit ? fmt::format("{} {}", sign, significant(*limit)) : "-";
}

/// One column of a stop table: the lower or the upper limit of a reading.
struct LimitColumn {
  std::size_t watched = 0;
  bool above = false;
};

/// The columns that hold a limit on some step.
std::vector<LimitColumn> limit_columns(const RampPass& pass, const std::vector<Watched>& watched) {
  std::vector<LimitColumn> columns;
  for (std::size_t i = 0; i < watched.size(); ++i) {
    for (const bool above : {false, true}) {
      const bool used =
          std::any_of(pass.steps.begin(), pass.steps.end(), [&](const RampStep& step) {
            const StopIf* stop = stop_of(step, watched[i]);
            return stop != nullptr && (above ? stop->above : stop->below).has_value();
          });
      if (used) {
        columns.push_back({i, above});
      }
    }
  }
  return columns;
}

void add_limits(Page& page, const RampPass& pass, const std::vector<Watched>& watched,
                const std::vector<LimitColumn>& limits) {
  std::vector<Column> columns{{"variac\nV rms", Align::right}};
  for (const LimitColumn& limit : limits) {
    columns.push_back(
        {fmt::format("{}.\n{}", limit.watched + 1, limit.above ? "above" : "below"), Align::right});
  }
  Table table(columns);
  for (const RampStep& step : pass.steps) {
    if (step.stop_if.empty()) {
      continue;
    }
    std::vector<std::string> cells{plain(step.variac_vrms)};
    for (const LimitColumn& limit : limits) {
      const StopIf* stop = stop_of(step, watched[limit.watched]);
      const auto value = stop == nullptr ? std::nullopt : (limit.above ? stop->above : stop->below);
      cells.push_back(limit_cell(value, limit.above ? ">" : "<"));
    }
    table.row(std::move(cells));
  }
  page.table(table, 2);
}

}  // namespace

void add_stop_tables(Page& page, const RampPass& pass) {
  const std::vector<Watched> watched = watched_readings(pass);
  if (watched.empty()) {
    return;
  }
  page.blank().text("STOP: pull the plug first, think afterwards, when a reading is");
  for (std::size_t i = 0; i < watched.size(); ++i) {
    page.item(fmt::format("{}.", i + 1),
              fmt::format("{} [{}]{}", watched[i].reading, watched[i].unit,
                          watched[i].why.empty() ? "" : ": " + watched[i].why),
              2);
  }
  const std::vector<LimitColumn> columns = limit_columns(pass, watched);
  for (auto first = columns.begin(); first != columns.end();) {
    const auto last = first + std::min(kLimitsPerTable, columns.end() - first);
    page.blank();
    add_limits(page, pass, watched, {first, last});
    first = last;
  }
  page.text("Also when a reading still climbs after ten seconds; at any smell, sound or smoke.", 2);
}

}  // namespace firstglow::sim
