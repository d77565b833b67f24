#include "sim/report/regulator_table.hpp"

#include <algorithm>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

std::string glow_words(const RegulatorReading& reading) {
  if (reading.lit && reading.lit_in_all) {
    return "lit";
  }
  return reading.lit ? "lit *" : (reading.lit_in_some ? "dark *" : "dark");
}

}  // namespace

void add_regulator_table(Page& page, const RampPass& pass) {
  const auto has_some = [](const RampStep& step) { return !step.regulators.empty(); };
  const auto first = std::find_if(pass.steps.begin(), pass.steps.end(), has_some);
  if (first == pass.steps.end()) {
    return;
  }
  page.blank().text("Regulator tubes: glow, and volts across each");
  std::vector<Column> columns{{"variac\nV"}};
  for (const RegulatorReading& reading : first->regulators) {
    columns.push_back({reading.part});
    columns.push_back({reading.part + "\nV", Align::right});
  }
  Table table(std::move(columns));
  for (const RampStep& step : pass.steps) {
    std::vector<std::string> cells{plain(step.variac_vrms)};
    if (!has_some(step)) {
      continue;
    }
    for (const RegulatorReading& reading : step.regulators) {
      cells.push_back(glow_words(reading));
      cells.push_back(significant(reading.volts));
    }
    table.row(std::move(cells));
  }
  page.table(table);
  page.text(
      "Dark on a low step is not a fault: what they feed reads unregulated volts until they "
      "strike. * depends on line and tolerance.");
}

}  // namespace firstglow::sim
