#include "sim/report/lamp_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kLampsPerTable = 7;

const LampAdvice* advice_of(const std::vector<LampAdvice>& lamps, netlists::Stage stage,
                            double rated_watts) {
  const auto found = std::find_if(lamps.begin(), lamps.end(), [&](const LampAdvice& lamp) {
    return lamp.stage == stage && lamp.rated_watts == rated_watts;
  });
  return found == lamps.end() ? nullptr : &*found;
}

/// "6 / 98", with a mark when it is the one to fit.
std::string cell(const LampAdvice* lamp) {
  return lamp == nullptr ? "-"
                         : fmt::format("{}{:.0f}/{:.0f}", lamp->suggested ? "*" : "",
                                       lamp->good_percent, lamp->short_percent);
}

void add_lamps(Page& page, const std::vector<LampAdvice>& lamps,
               const std::set<netlists::Stage>& stages, const std::vector<double>& watts) {
  std::vector<Column> columns{{"stage"}};
  for (const double rated : watts) {
    columns.push_back({plain(rated) + " W", Align::right});
  }
  Table table(columns);
  for (const netlists::Stage stage : stages) {
    std::vector<std::string> cells{netlists::stage_words(stage)};
    for (const double rated : watts) {
      cells.push_back(cell(advice_of(lamps, stage, rated)));
    }
    table.row(std::move(cells));
  }
  page.table(table, 2);
}

}  // namespace

void add_lamp_table(Page& page, const std::vector<LampAdvice>& lamps) {
  std::set<netlists::Stage> stages;
  std::set<double> watts;
  for (const LampAdvice& lamp : lamps) {
    stages.insert(lamp.stage);
    watts.insert(lamp.rated_watts);
  }
  page.heading("SERIES LAMP: dim on a good rig, bright on a short; tungsten only");
  page.text(
      "Lamp power in % of its rated watts at full dial: good rig / first node shorted. "
      "* marks the one to fit.");
  std::vector<double> left(watts.begin(), watts.end());
  while (!left.empty()) {
    const auto count = std::min(kLampsPerTable, left.size());
    const auto end = left.begin() + static_cast<std::ptrdiff_t>(count);
    page.blank();
    add_lamps(page, lamps, stages, {left.begin(), end});
    left.erase(left.begin(), end);
  }
  page.blank();
  for (const LampAdvice& lamp : lamps) {
    if (lamp.suggested) {
      page.item("*", fmt::format("{}: {} W{}", netlists::stage_words(lamp.stage),
                                 plain(lamp.rated_watts), lamp.why.empty() ? "" : ": " + lamp.why));
    }
  }
}

}  // namespace firstglow::sim
