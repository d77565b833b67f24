#include <fmt/format.h>

#include <cmath>

#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/reform_report.hpp"

namespace firstglow::sim {
namespace {

constexpr double kZeroCelsius = 273.15;

std::string milliamps(double amps) { return significant(1e3 * amps); }

std::string celsius(double kelvin) { return fmt::format("{:.0f}", kelvin - kZeroCelsius); }

/// Hours and minutes, as on a sheet: "1:05".
std::string clock_words(double seconds) {
  const int minutes = static_cast<int>(std::ceil(seconds / 60.0 - 1e-6));
  return fmt::format("{}:{:02}", minutes / 60, minutes % 60);
}

std::string mark(const FormingRow& row) {
  return row.series_ohm > 0.0
             ? fmt::format("{}/{:.3g}k", significant(row.mark_v), row.series_ohm / 1e3)
             : significant(row.mark_v);
}

std::string reading(const FormingRow& row, std::size_t at) {
  return at < row.read_a.size() ? milliamps(row.read_a[at]) : "-";
}

void add_rows(Page& page, const ReformResult& result, const FormingCase& shown) {
  Table table({{result.in_set ? "variac\nV rms" : "supply\nV/ohm", Align::right},
               {"hold\nh:min", Align::right},
               {"peak\nmA", Align::right},
               {"1 min\nmA", Align::right},
               {"5 min\nmA", Align::right},
               {"15 min\nmA", Align::right},
               {"30 min\nmA", Align::right},
               {"end\nmA", Align::right},
               {"can\nV DC", Align::right},
               {"can\nC", Align::right}});
  for (const FormingRow& row : shown.rows) {
    table.row({mark(row), clock_words(row.dwell_s), milliamps(row.peak_a), reading(row, 0),
               reading(row, 1), reading(row, 2), reading(row, 3), milliamps(row.end_a),
               significant(row.can_v), celsius(row.can_k)});
  }
  page.blank().table(table, 2);
}

void add_cases(Page& page, const ReformResult& result, const ReformPlan& plan) {
  for (const FormingCase& shown : plan.cases) {
    page.blank().text(fmt::format("If it is {}: {}.", shown.name, shown.words));
    page.text(fmt::format("{} after {}, {} mA, can at most {} C: {}.",
                          shown.reached ? "Formed" : "GIVEN UP", waiting_time(shown.total_s),
                          milliamps(shown.end_a), celsius(shown.hottest_k), shown.end),
              2, 2);
    if (shown.name != "poor") {
      add_rows(page, result, shown);
    }
  }
}

void add_plan(Page& page, const ReformResult& result, const ReformPlan& plan) {
  if (!plan.failure.empty()) {
    page.heading(fmt::format("{}: NO PLAN", plan.part));
    page.text(plan.failure + ". Treat it as not formed.");
    return;
  }
  page.heading(fmt::format("{}: {} {}, to {} V DC", plan.part, with_unit(plan.capacitance_f, "F"),
                           with_unit(plan.rated_v, "V"), significant(plan.end_v)));
  page.item("-", fmt::format("End: {} mA or less at {} V, read after 5 min. [MIL-C-62]",
                             milliamps(plan.limit_a), significant(plan.end_v)));
  if (!result.in_set) {
    page.item("-", fmt::format(
                       "Resistor in its lead: {}; a shorted can draws {} mA.{}",
                       with_unit(plan.series_ohm, "ohm"), milliamps(plan.end_v / plan.series_ohm),
                       plan.last_ohm < plan.series_ohm
                           ? fmt::format(" For the last step {}.", with_unit(plan.last_ohm, "ohm"))
                           : ""));
  }
  page.item("-", fmt::format("Can {:.0f} x {:.0f} mm{}: {} K per watt.", 1e3 * plan.heat.diameter_m,
                             1e3 * plan.heat.length_m, plan.heat.size_assumed ? " (assumed)" : "",
                             significant(plan.heat.thermal_k_per_w)));
  for (const std::string& remark : plan.remarks) {
    page.item("!", remark);
  }
  add_cases(page, result, plan);
}

void add_rules(Page& page, const ReformResult& result) {
  page.heading("HOW TO GO ON, WHEN TO STOP");
  page.text(fmt::format("Leakage limit: {} {}", result.rule_words, result.rule_source));
  const std::string half = milliamps(0.5 * result.ceiling_a);
  page.item("1.",
            fmt::format("Ceiling {} mA: never above it, at no step.", milliamps(result.ceiling_a)));
  page.item(
      "2.",
      result.in_set
          ? fmt::format("Raise the variac 1 % of the line a minute while the can draws less "
                        "than {} mA; hold while it draws more.",
                        half)
          : fmt::format("Next step when 5 min have passed, it draws less than {} mA, and holds "
                        "90 % of the supply or falls by less than 10 % in half an hour.",
                        half));
  page.item("3.",
            "Write down time and current: 1, 5, 15, 30 min, then every half hour. Let "
            "reform --log read it.");
  page.item("4.",
            "STOP when the current rises, when the can feels warm (15 K above the air), "
            "when it hisses, bulges or leaks.");
  page.item("5.",
            "GIVE UP when an hour at full volts still leaves more than 10 % of them on the "
            "resistor [OLD-STOCK], or the current stands still above the limit.");
  page.item("6.",
            "Cover it. Afterwards discharge through about one ohm per volt [EIA-815], "
            "measure, short, leave it shorted.");
}

}  // namespace

std::string reform_text(const core::Rig& rig, const ReformResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::reform);
  page.blank().text(result.in_set ? "FORMING IN THE SET, behind the variac"
                                  : "FORMING ON THE BENCH, each can by itself");
  if (result.plans.empty()) {
    page.text("No electrolytic in this rig: nothing to form.");
  }
  add_rules(page, result);
  for (const ReformPlan& plan : result.plans) {
    add_plan(page, result, plan);
  }
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
