#include <fmt/format.h>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/lines_report.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kColumnsPerTable = 6;

/// One column of the big table: a heading and a cell for each line.
struct LineColumn {
  std::string heading;
  std::vector<std::string> cells;
};

std::string volts_cell(const std::optional<double>& volts) {
  return volts ? significant(*volts) : "-";
}

std::vector<LineColumn> columns_of(const LinesResult& result) {
  std::vector<LineColumn> columns{{"mains\nA rms", {}}};
  const auto column = [&columns](const std::string& heading, std::size_t row) -> LineColumn& {
    for (LineColumn& each : columns) {
      if (each.heading == heading) {
        return each;
      }
    }
    columns.push_back({heading, std::vector<std::string>(row, "-")});
    return columns.back();
  };
  for (std::size_t i = 0; i < result.rows.size(); ++i) {
    const LineRow& row = result.rows[i];
    const bool failed = !row.failure.empty();
    column("mains\nA rms", i).cells.push_back(failed ? "?" : significant(row.mains_a));
    for (const HeaterAtLine& heater : row.heaters) {
      column(heater.part + "\n%", i)
          .cells.push_back(fmt::format("{:.1f}", 100.0 * heater.vrms / heater.rated_vrms));
    }
    for (const SupplyAtLine& supply : row.supplies) {
      column(supply.node + "\nlight", i).cells.push_back(volts_cell(supply.unloaded_v));
      column(supply.node + "\nloaded", i).cells.push_back(volts_cell(supply.loaded_v));
    }
    for (LineColumn& each : columns) {
      each.cells.resize(i + 1, "?");
    }
  }
  return columns;
}

void add_table(Page& page, const LinesResult& result) {
  page.heading("WHAT THE RIG SEES: heaters in % of rated volts, supplies in V DC");
  page.text("light: nothing but bleeders draws. loaded: the last stage the rig has.");
  const std::vector<LineColumn> columns = columns_of(result);
  for (std::size_t first = 0; first < columns.size(); first += kColumnsPerTable) {
    const std::size_t last = std::min(first + kColumnsPerTable, columns.size());
    std::vector<Column> headings{{"line\nV rms", Align::right}};
    for (std::size_t c = first; c < last; ++c) {
      headings.push_back({columns[c].heading, Align::right});
    }
    Table table(headings);
    for (std::size_t i = 0; i < result.rows.size(); ++i) {
      std::vector<std::string> cells{plain(result.rows[i].line_vrms)};
      for (std::size_t c = first; c < last; ++c) {
        cells.push_back(columns[c].cells[i]);
      }
      table.row(std::move(cells));
    }
    page.blank().table(table, 2);
  }
}

void add_bucking(Page& page, const LinesResult& result) {
  page.heading("THE RIGHT LINE, AND HOW TO GET THERE");
  if (!result.right_line_vrms) {
    page.text("No heater in the record: which line the rig was made for is not known.");
    return;
  }
  page.text(fmt::format("The heater that is highest stands at its rated volts on a line of {} V.",
                        significant(*result.right_line_vrms)));
  if (result.bucking.empty()) {
    page.text("No line above is too high by more than 2 %: no bucking winding needed.");
    return;
  }
  Table table({{"line\nV rms", Align::right},
               {"to take\naway V", Align::right},
               {"winding\nV", Align::right},
               {"A at\nleast", Align::right},
               {"VA", Align::right},
               {"rig sees\nV rms", Align::right}});
  for (const Bucking& one : result.bucking) {
    table.row({plain(one.line_vrms), significant(one.wanted_v), significant(one.winding_v),
               significant(one.amps), significant(one.va), significant(one.left_vrms)});
  }
  page.blank().table(table, 2);
  page.text(
      "A filament transformer, primary across the line, secondary in series with the rig so "
      "that it opposes. Wrong way round it adds: try it with a lamp in series and a meter "
      "first. Its windings are joined to the mains: it isolates nothing. Fuse ahead of both.");
}

}  // namespace

core::Verdict lines_verdict(const LinesResult& result) {
  return core::worst_verdict(result.findings);
}

std::string lines_text(const core::Rig& rig, const LinesResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::lines);
  add_result_line(page, result.findings, lines_verdict(result));
  add_table(page, result);
  add_bucking(page, result);
  add_problems(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
