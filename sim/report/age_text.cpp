#include <fmt/format.h>

#include "sim/report/age_report.hpp"
#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

std::string hours(const std::optional<double>& value) {
  return value ? fmt::format("{:.0f}", *value) : "?";
}

std::string years(const std::optional<int>& value) {
  return value ? fmt::format("{}", *value) : "?";
}

void add_duty(Page& page, const AgeResult& result) {
  page.heading("DUTY AND LIFE");
  page.text(
      fmt::format("Air around the cans {:.0f} C. Hours of a new part; an old one has used an "
                  "unknown share of them.",
                  result.air_k - 273.15));
  Table table({{"can", Align::left},
               {"V DC", Align::right},
               {"of\nV", Align::right},
               {"ripple\nmA rms", Align::right},
               {"of\nmA", Align::right},
               {"esr\nohm", Align::right},
               {"heat\nW", Align::right},
               {"rise\nK", Align::right},
               {"10 K rule\nh", Align::right},
               {"maker\nh", Align::right}});
  for (const AgeRow& row : result.rows) {
    table.row({row.part, significant(row.volts), row.working_v ? significant(*row.working_v) : "?",
               significant(1e3 * row.ripple_a),
               row.rated_ripple_a ? significant(1e3 * *row.rated_ripple_a) : "?",
               significant(row.esr_ohm) + (row.esr_assumed ? "*" : ""), significant(row.heat_w),
               significant(row.rise_k), hours(row.ten_degree_h), hours(row.maker_h)});
  }
  page.blank().table(table, 2);
  page.text("* assumed from tan d. ?: not in the record (keys life, ripple_current).");
}

void add_rules(Page& page, const AgeRow& row) {
  for (const core::ConditioningRule& rule : row.rules) {
    page.item("-",
              fmt::format(
                  "{} {}: {} through {}, {}{}; {}{}.", rule.name, rule.source,
                  with_unit(*row.working_v, "V"), with_unit(rule.series.si(), "ohm"),
                  waiting_time(rule.dwell.si()),
                  rule.ceiling > core::Amps()
                      ? fmt::format(", at most {}", with_unit(rule.ceiling.si(), "A"))
                      : "",
                  rule.words,
                  rule.discharge > core::Ohms()
                      ? fmt::format("; discharge through {}", with_unit(rule.discharge.si(), "ohm"))
                      : ""),
              4);
  }
}

/// Do two cans ask for the same?
bool alike(const AgeRow& a, const AgeRow& b) {
  return a.years_old == b.years_old && a.years_idle == b.years_idle && a.working_v == b.working_v;
}

void add_shelf(Page& page, const AgeResult& result) {
  page.heading("YEARS WITHOUT VOLTS, AND WHAT THEY ASK FOR");
  for (std::size_t k = 0; k < result.rows.size(); ++k) {
    const AgeRow& row = result.rows[k];
    std::string names;
    bool told = false;
    for (std::size_t other = 0; other < result.rows.size(); ++other) {
      if (alike(row, result.rows[other])) {
        told = told || other < k;
        names += (names.empty() ? "" : ", ") + result.rows[other].part;
      }
    }
    if (told) {
      continue;
    }
    page.blank().text(fmt::format("{}: made {} years ago, {} without volts: {}.", names,
                                  years(row.years_old), years(row.years_idle), row.shelf.words),
                      0, 4);
    if (row.shelf.advice != core::ShelfAdvice::use) {
      add_rules(page, row);
    }
  }
  page.blank().text("A programme for your cans, with currents: firstglow reform.");
}

}  // namespace

core::Verdict age_verdict(const AgeResult& result) { return core::worst_verdict(result.findings); }

std::string age_text(const core::Rig& rig, const AgeResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::age);
  if (result.rows.empty()) {
    page.heading("NO ELECTROLYTIC");
    page.text("This rig has none: nothing to judge.");
  } else {
    add_result_line(page, result.findings, age_verdict(result));
    if (result.failure.empty()) {
      add_duty(page, result);
    } else {
      page.item("?", "NO ANSWER for the duty: " + result.failure);
    }
    add_shelf(page, result);
  }
  add_problems(page, result.findings);
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
