#include <fmt/format.h>

#include <algorithm>

#include "sim/report/numbers.hpp"
#include "sim/report/rampup_tables.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kReadingsPerTable = 4;

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

void add_limits(Page& page, const RampPass& pass, const std::vector<Watched>& watched,
                std::size_t first, std::size_t last) {
  std::vector<Column> columns{{"variac\nV rms", Align::right}};
  for (std::size_t i = first; i < last; ++i) {
    columns.push_back({fmt::format("{}\nbelow", i + 1), Align::right});
    columns.push_back({fmt::format("{}\nabove", i + 1), Align::right});
  }
  Table table(columns);
  for (const RampStep& step : pass.steps) {
    if (step.stop_if.empty()) {
      continue;
    }
    std::vector<std::string> cells{significant(step.variac_vrms)};
    for (std::size_t i = first; i < last; ++i) {
      const StopIf* stop = stop_of(step, watched[i]);
      cells.push_back(stop != nullptr ? limit_cell(stop->below, "<") : "-");
      cells.push_back(stop != nullptr ? limit_cell(stop->above, ">") : "-");
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
  for (std::size_t first = 0; first < watched.size(); first += kReadingsPerTable) {
    page.blank();
    add_limits(page, pass, watched, first, std::min(first + kReadingsPerTable, watched.size()));
  }
  page.text("Also when a reading still climbs after ten seconds; at any smell, sound or smoke.", 2);
}

}  // namespace firstglow::sim
