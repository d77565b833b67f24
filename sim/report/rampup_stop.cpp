#include <fmt/format.h>

#include <algorithm>
#include <cstddef>

#include "sim/report/numbers.hpp"
#include "sim/report/rampup_tables.hpp"

namespace firstglow::sim {
namespace {

constexpr std::ptrdiff_t kLimitsPerTable = 7;

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

std::string limit_cell(const std::optional<double>& limit) {
  return limit ? significant(*limit) : "-";
}

/// One column of a stop table: the lower or the upper limit of a reading.
struct LimitColumn {
  std::size_t watched = 0;
  bool above = false;
};

/// The printed limits of a column, step by step.
std::vector<std::string> limit_cells(const RampPass& pass, const Watched& watched, bool above) {
  std::vector<std::string> cells;
  for (const RampStep& step : pass.steps) {
    if (!step.stop_if.empty()) {
      const StopIf* stop = stop_of(step, watched);
      cells.push_back(
          limit_cell(stop == nullptr ? std::nullopt : (above ? stop->above : stop->below)));
    }
  }
  return cells;
}

/// The one limit of all steps, as printed; empty when it changes. "-": there is none.
std::string fixed_limit(const RampPass& pass, const Watched& watched, bool above) {
  const std::vector<std::string> cells = limit_cells(pass, watched, above);
  const bool fixed = std::all_of(cells.begin(), cells.end(), [&cells](const std::string& cell) {
    return cell == cells.front();
  });
  return fixed && !cells.empty() ? cells.front() : "";
}

/// ": below 0.442 or above 0.542 on every step", as far as limits do not change.
std::string fixed_words(const RampPass& pass, const Watched& watched) {
  std::string words;
  for (const bool above : {false, true}) {
    if (const std::string limit = fixed_limit(pass, watched, above);
        !limit.empty() && limit != "-") {
      words +=
          fmt::format("{} {} {}", words.empty() ? "" : " or", above ? "above" : "below", limit);
    }
  }
  return words.empty() ? "" : words + " on every step";
}

/// The columns whose limit changes from step to step.
std::vector<LimitColumn> limit_columns(const RampPass& pass, const std::vector<Watched>& watched) {
  std::vector<LimitColumn> columns;
  for (std::size_t i = 0; i < watched.size(); ++i) {
    for (const bool above : {false, true}) {
      if (fixed_limit(pass, watched[i], above).empty()) {
        columns.push_back({i, above});
      }
    }
  }
  return columns;
}

void add_limits(Page& page, const RampPass& pass, const std::vector<Watched>& watched,
                const std::vector<LimitColumn>& limits) {
  std::vector<Column> columns{{"variac\nV rms", Align::right}};
  std::vector<std::vector<std::string>> cells;
  for (const LimitColumn& limit : limits) {
    columns.push_back(
        {fmt::format("{}.\n{}", limit.watched + 1, limit.above ? "above" : "below"), Align::right});
    cells.push_back(limit_cells(pass, watched[limit.watched], limit.above));
  }
  Table table(columns);
  std::size_t row = 0;
  for (const RampStep& step : pass.steps) {
    if (step.stop_if.empty()) {
      continue;
    }
    std::vector<std::string> line{plain(step.variac_vrms)};
    for (const auto& column : cells) {
      line.push_back(column[row]);
    }
    table.row(std::move(line));
    ++row;
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
    const Watched& one = watched[i];
    page.item(fmt::format("{}.", i + 1),
              fmt::format("{}{}{}{}", one.reading, one.unit.empty() ? "" : ", " + one.unit,
                          fixed_words(pass, one), one.why.empty() ? "" : ": " + one.why),
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
