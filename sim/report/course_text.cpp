#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/cautions.hpp"
#include "sim/report/course_report.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kNodesPerTable = 4;

/// Minutes and seconds from the start, "12:05".
std::string clock_time(double time_s) {
  const auto seconds = static_cast<long>(std::llround(time_s));
  return fmt::format("{}:{:02}", seconds / 60, seconds % 60);
}

bool has_lamp(const CourseResult& result) {
  return std::any_of(result.readings.begin(), result.readings.end(),
                     [](const CourseReading& reading) { return reading.lamp_vrms > 0.0; });
}

/// The last reading of a step.
const CourseReading* reading_at_end(const CourseResult& result, const CourseStep& step) {
  const CourseReading* found = nullptr;
  for (const CourseReading& reading : result.readings) {
    if (reading.time_s >= step.start_s && reading.time_s < step.end_s) {
      found = &reading;
    }
  }
  return found;
}

void add_steps(Page& page, const CourseResult& result) {
  page.heading("HOW LONG TO WAIT ON EACH STEP");
  page.text(
      "settled: from the first touch of the dial until every capacitor, lamp and heater is within "
      "1 % of where it stands at the end of the step. Read the meters after that.");
  Table table({{"variac\nV rms", Align::right},
               {"begins\nmin:s", Align::right},
               {"settled\nafter", Align::right},
               {"mains\nA rms", Align::right},
               {"mains\nW", Align::right}});
  for (const CourseStep& step : result.steps) {
    const CourseReading* end = reading_at_end(result, step);
    table.row({plain(step.dial_vrms), clock_time(step.start_s),
               step.settled_s ? waiting_time(*step.settled_s) : "STILL MOVING",
               end == nullptr ? "-" : significant(end->mains_a),
               end == nullptr ? "-" : significant(end->mains_w)});
  }
  page.blank().table(table, 2);
  for (const CourseStep& step : result.steps) {
    for (const std::string& remark : step.remarks) {
      page.item("-", fmt::format("{} V: {}.", plain(step.dial_vrms), remark));
    }
  }
}

std::string volts_of(const CourseReading& reading, std::size_t node) {
  const auto& found = reading.nodes.at(node);
  return found ? significant(found->mean_v) : "-";
}

void add_minutes(Page& page, const CourseResult& result) {
  page.heading("MINUTE BY MINUTE: V DC to chassis");
  const bool lamp = has_lamp(result);
  for (std::size_t first = 0; first < std::max<std::size_t>(result.main_nodes.size(), 1);
       first += kNodesPerTable) {
    const std::size_t last = std::min(first + kNodesPerTable, result.main_nodes.size());
    std::vector<Column> columns{{"time\nmin:s", Align::right},
                                {"variac\nV rms", Align::right},
                                {"mains\nA rms", Align::right}};
    if (lamp) {
      columns.push_back({"lamp\nW", Align::right});
    }
    for (std::size_t i = first; i < last; ++i) {
      columns.push_back({result.nodes.at(result.main_nodes[i]) + "\nV DC", Align::right});
    }
    Table table(columns);
    for (const CourseReading& reading : result.readings) {
      const bool off = reading.dial_vrms == 0.0;
      std::vector<std::string> cells{clock_time(reading.time_s),
                                     off ? "off" : significant(reading.dial_vrms),
                                     off ? "-" : significant(reading.mains_a)};
      if (lamp) {
        cells.push_back(off ? "-" : significant(reading.lamp_w));
      }
      for (std::size_t i = first; i < last; ++i) {
        cells.push_back(volts_of(reading, result.main_nodes[i]));
      }
      table.row(std::move(cells));
    }
    page.blank().table(table, 2);
  }
  page.item(
      "!",
      "off: nominal parts with every bleeder whole, without dielectric absorption. No 0 in this "
      "table lets a hand go near: wait, measure, resistor, measure, hook. Times: bleed.");
  page.text(
      fmt::format("The steps of the solver leave at most {} V in all. Ripple, rms, peaks and watts "
                  "of every part "
                  "and node: --json, --csv.",
                  significant(result.largest_error_v)));
}

}  // namespace

core::Verdict course_verdict(const CourseResult& result) {
  return core::worst_verdict(result.findings);
}

std::string course_text(const core::Rig& rig, const CourseResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::course);
  add_result_line(page, result.findings, course_verdict(result));
  page.text(
      "Judged here: working volts of nominal parts on nominal line, and nothing else. High line, "
      "tolerance, the first second, watts and amps: margins.",
      8);
  if (!result.readings.empty()) {
    add_steps(page, result);
    add_minutes(page, result);
  }
  add_problems(page, result.findings);
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
