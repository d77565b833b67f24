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

/// The lamps to fit, those with the same reason in one line.
void add_reasons(Page& page, const std::vector<LampAdvice>& lamps) {
  std::vector<std::pair<std::string, std::string>> words_of_reason;
  for (const LampAdvice& lamp : lamps) {
    if (!lamp.suggested) {
      continue;
    }
    const std::string words =
        fmt::format("{} {} W", netlists::stage_words(lamp.stage), plain(lamp.rated_watts));
    const auto known = std::find_if(words_of_reason.begin(), words_of_reason.end(),
                                    [&](const auto& each) { return each.first == lamp.why; });
    if (known == words_of_reason.end()) {
      words_of_reason.emplace_back(lamp.why, words);
    } else {
      known->second += ", " + words;
    }
  }
  for (const auto& [why, words] : words_of_reason) {
    page.item("*", why.empty() ? words : fmt::format("{}: {}", words, why));
  }
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
  add_reasons(page, lamps);
}

}  // namespace firstglow::sim
