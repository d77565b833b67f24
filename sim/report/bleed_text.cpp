#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/bleed_report.hpp"
#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

/// Longer is worse; never is worst of all.
bool worse(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

/// The slowest answered case of those with (or without) an open path; nullptr when none.
const DischargeCase* slowest_case(const BleedResult& result, bool with_open_path) {
  const DischargeCase* slowest = nullptr;
  for (const DischargeCase& one : result.cases) {
    if (one.failure.empty() && one.open_part.empty() != with_open_path &&
        (slowest == nullptr || worse(one.last_s, slowest->last_s))) {
      slowest = &one;
    }
  }
  return slowest;
}

/// "below 50 V after 47 s" / "never below 50 V"
std::string limit_words(const std::string& limit, const std::optional<double>& time_s) {
  return time_s ? fmt::format("predicted {} after {}", limit, waiting_time(*time_s))
                : fmt::format("NEVER {} through the paths that are left", limit);
}

std::string volts_limit(const DischargeCase& one) {
  for (const CapacitorDischarge& capacitor : one.capacitors) {
    if (!capacitor.limits.empty()) {
      return capacitor.limits.front().limit;
    }
  }
  return "below the limit";
}

/// Failed cases first, then never, then the longest.
std::vector<const DischargeCase*> worst_first(const BleedResult& result) {
  std::vector<const DischargeCase*> sorted;
  for (const DischargeCase& one : result.cases) {
    sorted.push_back(&one);
  }
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto* a, const auto* b) {
    if (a->failure.empty() != b->failure.empty()) {
      return !a->failure.empty();
    }
    return a->failure.empty() && worse(a->last_s, b->last_s);
  });
  return sorted;
}

void add_open_paths(Page& page, const BleedResult& result) {
  Table table({{"one path open"},
               {"last to fall"},
               {"after", Align::right},
               {"10 Mohm meter left on it", Align::right}});
  for (const DischargeCase* one : worst_first(result)) {
    if (!one->open_part.empty()) {
      const bool failed = !one->failure.empty();
      table.row({one->name, failed ? "?" : one->last_part,
                 failed ? "NO ANSWER" : (one->last_s ? waiting_time(*one->last_s) : "NEVER"),
                 one->last_with_meter_s ? waiting_time(*one->last_with_meter_s) : "-"});
    }
  }
  if (!table.empty()) {
    page.blank().table(table, 2).blank();
  }
}

void add_answer(Page& page, const BleedResult& result) {
  page.heading("WORST ANSWER");
  const DischargeCase* open = slowest_case(result, true);
  const DischargeCase* intact = slowest_case(result, false);
  if (open == nullptr && intact == nullptr) {
    page.text("No case gave an answer. Treat every capacitor as charged.");
  }
  if (open != nullptr) {
    page.item("-", fmt::format("{}: {} ({} is the last).", open->name,
                               limit_words(volts_limit(*open), open->last_s), open->last_part));
  }
  if (intact != nullptr) {
    page.item("-",
              fmt::format("{}: {} with every bleeder part intact ({} is the last).", intact->name,
                          limit_words(volts_limit(*intact), intact->last_s), intact->last_part));
  }
  add_open_paths(page, result);
  for (const std::string& warning : result.warnings) {
    page.item("!", warning);
  }
  if (!result.start.empty()) {
    page.item("Start:", result.start);
  }
}

/// Capacitors of a case, slowest first by their first limit.
std::vector<const CapacitorDischarge*> slowest_first(const DischargeCase& one) {
  std::vector<const CapacitorDischarge*> sorted;
  for (const CapacitorDischarge& capacitor : one.capacitors) {
    sorted.push_back(&capacitor);
  }
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto* a, const auto* b) {
    return !a->limits.empty() && !b->limits.empty() &&
           worse(a->limits.front().time_s, b->limits.front().time_s);
  });
  return sorted;
}

bool counts_coulombs(const LimitTime& limit) { return limit.limit.ends_with('C'); }

/// The limits in use, each once, in the order met; a case's table names them A, B, C ...
std::vector<LimitTime> limits_in_use(const BleedResult& result) {
  std::vector<LimitTime> limits;
  for (const DischargeCase& one : result.cases) {
    for (const CapacitorDischarge& capacitor : one.capacitors) {
      for (const LimitTime& limit : capacitor.limits) {
        const bool known = std::any_of(limits.begin(), limits.end(), [&limit](const LimitTime& l) {
          return l.limit == limit.limit && l.source == limit.source;
        });
        const bool first = limit.limit == result.limit.words;
        if (!known && (first || !counts_coulombs(limit))) {
          limits.push_back(limit);
        }
      }
    }
  }
  return limits;
}

std::string letter(std::size_t index) {
  return index < 26 ? std::string(1, static_cast<char>('A' + index)) : fmt::format("L{}", index);
}

std::string time_cell(const CapacitorDischarge& capacitor, const LimitTime& wanted) {
  for (const LimitTime& limit : capacitor.limits) {
    if (limit.limit == wanted.limit && limit.source == wanted.source) {
      return limit.time_s ? waiting_time(*limit.time_s) : "NEVER";
    }
  }
  return "-";
}

void add_case(Page& page, const DischargeCase& one, const std::vector<LimitTime>& limits) {
  page.blank().text(
      fmt::format("{}{}", one.name,
                  one.open_part.empty() ? " (holds only with every bleeder part intact)" : ""));
  if (!one.failure.empty()) {
    page.item("?", "NO ANSWER: " + one.failure + ". Treat the capacitors as charged.");
    return;
  }
  std::vector<Column> columns{{"part"}, {"start V", Align::right}, {"joules", Align::right}};
  for (std::size_t i = 0; i < limits.size(); ++i) {
    columns.push_back({letter(i), Align::right});
  }
  Table table(columns);
  for (const CapacitorDischarge* capacitor : slowest_first(one)) {
    std::vector<std::string> cells{capacitor->part, significant(capacitor->start_v),
                                   with_unit(capacitor->start_j, "J")};
    for (const LimitTime& limit : limits) {
      cells.push_back(time_cell(*capacitor, limit));
    }
    table.row(std::move(cells));
  }
  page.table(table, 2);
}

void add_cases(Page& page, const BleedResult& result) {
  const std::vector<LimitTime> limits = limits_in_use(result);
  page.heading("PREDICTED TIMES AFTER SWITCH-OFF, rounded up");
  for (std::size_t i = 0; i < limits.size(); ++i) {
    page.item(letter(i) + ":", fmt::format("time to fall {} and stay there; {}", limits[i].limit,
                                           source_words(limits[i].source)));
  }
  page.text(fmt::format("A is judged. It was written for: {}. Local rules come first.",
                        result.limit.purpose));
  page.text("0 s: below from the start. -: cannot be above. NEVER: no path is left.");
  for (const DischargeCase* one : worst_first(result)) {
    add_case(page, *one, limits);
  }
}

/// Volts are not the only measure: what would flow through a body.
void add_charges(Page& page, const BleedResult& result) {
  std::vector<LimitTime> limits;
  for (const DischargeCase& one : result.cases) {
    for (const CapacitorDischarge& capacitor : one.capacitors) {
      for (const LimitTime& limit : capacitor.limits) {
        const bool known = std::any_of(limits.begin(), limits.end(), [&limit](const LimitTime& l) {
          return l.limit == limit.limit;
        });
        if (!known && counts_coulombs(limit)) {
          limits.push_back(limit);
        }
      }
    }
  }
  const DischargeCase* intact = slowest_case(result, false);
  if (intact == nullptr || limits.empty()) {
    return;
  }
  page.heading("AS CHARGE, all paths intact, slowest corner");
  std::vector<Column> columns{{"part"}, {"start", Align::right}};
  for (const LimitTime& limit : limits) {
    columns.push_back({limit.limit, Align::right});
    page.item("-", fmt::format("{}: {}", limit.limit, source_words(limit.source)));
  }
  Table table(columns);
  for (const CapacitorDischarge* capacitor : slowest_first(*intact)) {
    std::vector<std::string> cells{
        capacitor->part, with_unit(std::abs(capacitor->start_v) * capacitor->capacitance_f, "C")};
    for (const LimitTime& limit : limits) {
      cells.push_back(time_cell(*capacitor, limit));
    }
    table.row(std::move(cells));
  }
  page.table(table, 2);
  page.text("For comparison only: no charge here is one to take through the body.");
}

void add_rebounds(Page& page, const BleedResult& result) {
  page.heading("REBOUND: what comes back after the short is taken off");
  Table table({{"part"},
               {"dielectric"},
               {"absorbs", Align::right},
               {"from", Align::right},
               {"climbs to", Align::right},
               {"over the limit after", Align::right},
               {"short on at least", Align::right}});
  for (const Rebound& rebound : result.rebounds) {
    table.row(
        {rebound.part, rebound.dielectric, percent(rebound.share), with_unit(rebound.start_v, "V"),
         with_unit(rebound.peak_v, "V"),
         rebound.above_after_s ? waiting_time(*rebound.above_after_s) : "-",
         rebound.short_needed_s ? waiting_time(*rebound.short_needed_s) : "a month is short"});
  }
  page.table(table);
  page.text(
      "climbs to: highest with the ends open until the next day, nothing to bleed it down. over "
      "the limit after: seconds from the release, rounded down to a point of the curve. short on: "
      "counted from when the capacitor is empty. The figures of absorption are the highest "
      "published for the dielectric; one can may differ. Leave the hook on all the same.");
}

void add_bleeders(Page& page, const BleedResult& result) {
  page.heading("BLEEDERS ON DUTY: highest continuous load, high line, worst stage");
  Table table({{"part"},
               {"DC volts", Align::right},
               {"rated", Align::right},
               {"watts", Align::right},
               {"rated", Align::right},
               {"share", Align::right}});
  for (const BleederDuty& duty : result.bleeders) {
    table.row({duty.part, with_unit(duty.volts_dc, "V"),
               duty.working_volts ? with_unit(*duty.working_volts, "V") : "not known",
               with_unit(duty.watts, "W"),
               duty.rated_watts ? with_unit(*duty.rated_watts, "W") : "not known",
               duty.rated_watts && *duty.rated_watts > 0.0 ? percent(duty.watts / *duty.rated_watts)
                                                           : "?"});
  }
  page.table(table);
}

}  // namespace

core::Verdict bleed_verdict(const BleedResult& result) {
  const core::Verdict worst = core::worst_verdict(result.findings);
  const bool failed = result.cases.empty() ||
                      std::any_of(result.cases.begin(), result.cases.end(),
                                  [](const DischargeCase& one) { return !one.failure.empty(); });
  return failed && worst == core::Verdict::safe ? core::Verdict::no_verdict : worst;
}

std::string bleed_text(const core::Rig& rig, const BleedResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::bleed);
  add_result_line(page, result.findings, bleed_verdict(result));
  if (!result.warnings.empty()) {
    page.text("NO LIMIT JUDGES what is marked ! below. Read it before you rely on the result.", 8);
  }
  add_answer(page, result);
  add_problems(page, result.findings);
  page.heading("AFTER SWITCH-OFF, IN THIS ORDER, EVERY TIME");
  int number = 0;
  for (const std::string& step : discharge_steps()) {
    page.item(fmt::format("{}.", ++number), step);
  }
  add_rebounds(page, result);
  add_cases(page, result);
  add_charges(page, result);
  if (!result.bleeders.empty()) {
    add_bleeders(page, result);
  }
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  page.item("-", result.engine_deviation
                     ? fmt::format("Cross-check: ngspice and the exact solution differ by at most "
                                   "{} of the start volts (nominal case).",
                                   percent(*result.engine_deviation))
                     : std::string("Cross-check: ngspice gave no answer."));
  return page.take();
}

}  // namespace firstglow::sim
