#include <fmt/format.h>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/spread_file.hpp"
#include "sim/report/spread_report.hpp"

namespace firstglow::sim {
namespace {

void add_table(Page& page, const SpreadResult& result) {
  page.heading("HOW THE READINGS SCATTER");
  page.text(
      "Nine rigs in ten built to this record read between 5 % and 95 %. light: nothing but "
      "bleeders "
      "draws; loaded: the last stage.");
  Table table({{"reading", Align::left},
               {"unit", Align::left},
               {"nominal", Align::right},
               {"lowest", Align::right},
               {"5 %", Align::right},
               {"half", Align::right},
               {"95 %", Align::right},
               {"highest", Align::right}});
  for (const SpreadReading& one : result.readings) {
    if (!one.column.limit) {
      table.row({one.column.name, one.column.unit, significant(one.nominal),
                 significant(one.lowest), significant(one.p5), significant(one.median),
                 significant(one.p95), significant(one.highest)});
    }
  }
  page.blank().table(table, 2);
}

void add_limits(Page& page, const SpreadResult& result) {
  page.heading("RATINGS: HOW MANY DRAWS GO OVER");
  page.text("STEADY READINGS ONLY. A cold switch-on goes higher and may go over: run margins.");
  Table table({{"part", Align::left},
               {"unit", Align::left},
               {"nominal", Align::right},
               {"95 %", Align::right},
               {"highest", Align::right},
               {"rating", Align::right},
               {"over", Align::right}});
  const auto draws = result.table.made.size() - static_cast<std::size_t>(result.failed);
  for (const SpreadReading& one : result.readings) {
    if (one.column.limit) {
      table.row({one.column.name, one.column.unit, significant(one.nominal), significant(one.p95),
                 significant(one.highest), significant(*one.column.limit),
                 fmt::format("{} of {}", one.over_limit, draws)});
    }
  }
  page.blank().table(table, 2);
}

void add_shares(Page& page, const SpreadResult& result) {
  page.heading("WHICH PARTS MAKE THE SCATTER");
  page.text(
      "Share of the variance of a reading; + raises it, - lowers it. Measure these parts first.");
  page.blank();
  for (const SpreadReading& one : result.readings) {
    if (one.column.limit || one.shares.empty()) {
      continue;
    }
    std::vector<std::string> words;
    for (const SpreadShare& share : one.shares) {
      words.push_back(
          fmt::format("{} {}{:.0f} %", share.input, share.raises ? "+" : "-", 100.0 * share.share));
    }
    page.item(one.column.name + ":", fmt::format("{}", fmt::join(words, ", ")), 2);
  }
}

}  // namespace

core::Verdict spread_verdict(const SpreadResult& result) {
  return core::worst_verdict(result.findings);
}

std::string spread_text(const core::Rig& rig, const SpreadResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::spread);
  add_result_line(page, result.findings, spread_verdict(result));
  if (result.readings.empty()) {
    page.text("No draw gave an answer: there is nothing to show.");
  } else {
    add_table(page, result);
    add_limits(page, result);
    add_shares(page, result);
  }
  add_problems(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

std::string spread_csv(const SpreadResult& result) { return spread_file_text(result.table); }

}  // namespace firstglow::sim
