#include <fmt/format.h>

#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/readings_report.hpp"

namespace firstglow::sim {
namespace {

std::string step_words(const JudgedStep& step) {
  return fmt::format("{}, {}, {} V", step.stage, step.with_lamp ? "lamp in" : "no lamp",
                     plain(step.variac_vrms));
}

/// Ohms carry a prefix, as on the sheet; what a meter calls open is said so.
std::string figure(double value, const std::string& unit) {
  if (unit != "ohm") {
    return significant(value);
  }
  return value >= kOpenOhm ? "open" : with_unit(value, unit);
}

std::string figure(const std::optional<double>& value, const std::string& unit) {
  return value ? figure(*value, unit) : "-";
}

/// A reading or a check, with what it was judged by.
struct Judged {
  std::string label, unit, why;
  ReadingLimits limits;
  double value = 0.0;
  Judgement judgement = Judgement::no_verdict;
};

/// The reading itself and its checks; nothing when it is no number.
std::vector<Judged> parts_of(const JudgedBlank& judged) {
  std::vector<Judged> parts;
  if (judged.value && judged.blank.judged) {
    parts.push_back({judged.blank.label, judged.blank.unit, judged.blank.stop_why,
                     limits_of(judged.blank), *judged.value, judged.own});
  }
  for (const JudgedCheck& one : judged.checks) {
    parts.push_back({one.check.label, one.check.unit, one.check.stop_why, one.check.limits,
                     one.value, one.judgement});
  }
  return parts;
}

/// "below the band", "above the limit": on which side a figure lies.
std::string side_words(const Judged& one) {
  const std::optional<double> low = one.limits.low ? one.limits.low : one.limits.stop_below;
  return fmt::format("{} the {}", low && one.value < *low ? "below" : "above",
                     one.judgement == Judgement::stop ? "limit" : "band");
}

std::string limit_words(const Judged& one) {
  const ReadingLimits& limits = one.limits;
  if (one.judgement != Judgement::stop) {
    return fmt::format("band {} to {}", figure(limits.low, one.unit),
                       figure(limits.high, one.unit));
  }
  std::string words = "stop";
  if (limits.stop_below) {
    words += " below " + figure(*limits.stop_below, one.unit);
  }
  if (limits.stop_above) {
    words += fmt::format("{} above {}", limits.stop_below ? " or" : "",
                         figure(*limits.stop_above, one.unit));
  }
  return words;
}

/// Everything of one weight in one place.
void add_problems_at(Page& page, const std::string& place, const std::vector<JudgedBlank>& filled,
                     Judgement judgement) {
  const bool stop = judgement == Judgement::stop;
  for (const JudgedBlank& judged : filled) {
    for (const Judged& one : parts_of(judged)) {
      if (one.judgement == judgement) {
        page.item(stop ? "STOP" : "-",
                  fmt::format(
                      "{}: {} {}{}, {} ({}){}", place, one.label, figure(one.value, one.unit),
                      one.unit.empty() || one.unit == "ohm" ? "" : " " + one.unit, side_words(one),
                      limit_words(one), stop && !one.why.empty() ? ": " + one.why : ""));
      }
    }
  }
}

void add_problems_of(Page& page, const ReadingsResult& result, Judgement judgement) {
  add_problems_at(page, "dead check", result.dead, judgement);
  for (const JudgedStep& step : result.steps) {
    add_problems_at(page, step_words(step), step.filled, judgement);
  }
}

void add_problems_first(Page& page, const ReadingsResult& result) {
  if (result.count(Judgement::stop) > 0) {
    page.heading("BEYOND A STOP LIMIT: plug out first, think afterwards");
    add_problems_of(page, result, Judgement::stop);
  }
  if (result.count(Judgement::stop) + result.count(Judgement::outside) > 0) {
    page.heading("OUTSIDE ITS BAND: find out why before the next step");
    add_problems_of(page, result, Judgement::outside);
  }
}

void add_sheet(Page& page, const ReadingsResult& result) {
  if (!result.sheet) {
    page.item("?",
              "The file does not say which sheet it was filled in on; it is judged by the "
              "default ladder of the record as it is now.");
    return;
  }
  if (result.sheet->rig != result.now.rig) {
    page.item("!", fmt::format("ANOTHER RIG: the sheet is of \"{}\".", result.sheet->rig));
  }
  if (result.record_changed()) {
    page.item("!",
              "THE RECORD HAS CHANGED since the sheet was made, in something that the predictions "
              "are made from. Everything here is judged by the record as it is now.");
  }
}

void add_result(Page& page, const ReadingsResult& result) {
  const std::size_t stop = result.count(Judgement::stop);
  const std::size_t outside = result.count(Judgement::outside);
  const std::size_t unknown = result.count(Judgement::no_verdict) + result.without_place.size();
  const std::size_t inside = result.count(Judgement::inside);
  const std::size_t all = stop + outside + unknown + inside;
  std::string words = fmt::format(
      "RESULT: {} readings: {} beyond a stop limit, {} outside, {} without verdict, {} inside.",
      all, stop, outside, unknown, inside);
  if (all == 0) {
    words = "RESULT: NO VERDICT. No reading was written down.";
  }
  page.blank().text(words, 0, 8);
  std::size_t empty = 0;
  for (const JudgedStep& step : result.steps) {
    empty += step.empty;
  }
  if (empty > 0) {
    page.text(fmt::format("Blanks left empty on the steps that were begun: {}.", empty), 8);
  }
  page.text("Inside its band says: as predicted. It does not say that nothing is wrong.", 8);
  add_sheet(page, result);
}

std::string judgement_cell(const Judged& one) {
  switch (one.judgement) {
    case Judgement::stop:
      return "STOP, " + side_words(one);
    case Judgement::outside:
      return "outside, " + side_words(one);
    default:
      return judgement_words(one.judgement);
  }
}

void add_rows(Table& table, const JudgedBlank& judged) {
  const Blank& blank = judged.blank;
  const auto row = [&table](const std::string& label, const std::string& read,
                            const std::string& unit, const ReadingLimits& limits,
                            const std::string& judgement) {
    table.row({label, read, unit == "ohm" ? "" : unit, figure(limits.low, unit),
               figure(limits.expected, unit), figure(limits.high, unit), judgement});
  };
  if (!judged.value) {
    row(blank.label, "\"" + judged.written + "\"", blank.unit, limits_of(blank), "not read");
  } else if (!blank.judged) {
    row(blank.label, figure(*judged.value, blank.unit), blank.unit, limits_of(blank), "a setting");
  }
  for (const Judged& one : parts_of(judged)) {
    row(one.label, figure(one.value, one.unit), one.unit, one.limits, judgement_cell(one));
  }
}

void add_filled(Page& page, const std::vector<JudgedBlank>& filled, bool same_record) {
  Table table({{"reading"},
               {"read", Align::right},
               {"unit"},
               {"min", Align::right},
               {"nominal", Align::right},
               {"max", Align::right},
               {"judgement"}});
  for (const JudgedBlank& judged : filled) {
    add_rows(table, judged);
  }
  page.blank().table(table, 2);
  for (const JudgedBlank& judged : filled) {
    if (!judged.value) {
      page.item("?", fmt::format("{}: {}.", judged.blank.label, judged.fault), 2);
    }
    if (same_record && !judged.page_mark.empty() && judged.page_mark != mark_of(judged)) {
      page.item("!",
                fmt::format("{}: the page said \"{}\", here it is \"{}\".", judged.blank.label,
                            judged.page_mark, mark_of(judged)),
                2);
    }
  }
}

void add_step(Page& page, const JudgedStep& step, bool same_record) {
  page.heading(fmt::format("STEP {}", step_words(step)));
  for (const std::string& gate : step.open_gates) {
    page.item("!", "NOT TICKED: " + gate);
  }
  add_filled(page, step.filled, same_record);
}

void add_loose_ends(Page& page, const ReadingsResult& result) {
  if (!result.without_place.empty()) {
    page.heading("READINGS WITHOUT A PLACE: no blank of this record takes them, no verdict");
    for (const WrittenEntry& entry : result.without_place) {
      page.item("?", fmt::format("{}: {} {}", entry.id, entry.written, entry.unit));
    }
  }
  if (!result.words.empty()) {
    page.heading("REMARKS ON THE SHEET");
    for (const WrittenEntry& entry : result.words) {
      page.item("-", fmt::format("{}: {}", entry.id, entry.written));
    }
  }
}

}  // namespace

std::string readings_text(const core::Rig& rig, const ReadingsResult& result,
                          const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::readings);
  add_result(page, result);
  add_problems_first(page, result);
  const bool same_record = result.sheet && !result.record_changed();
  if (!result.dead.empty()) {
    page.heading("DEAD CHECKS");
    add_filled(page, result.dead, same_record);
  }
  for (const JudgedStep& step : result.steps) {
    add_step(page, step, same_record);
  }
  add_loose_ends(page, result);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
