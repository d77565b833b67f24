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

std::string number_cell(const std::optional<double>& value) {
  return value ? significant(*value) : "-";
}

/// "below the band", "above the limit": on which side a figure lies.
std::string side_words(const ReadingLimits& limits, double value, Judgement judgement) {
  const std::optional<double> low = limits.low ? limits.low : limits.stop_below;
  return fmt::format("{} the {}", low && value < *low ? "below" : "above",
                     judgement == Judgement::stop ? "limit" : "band");
}

std::string figure_words(double value, const std::string& unit) {
  return fmt::format("{}{}{}", significant(value), unit.empty() ? "" : " ", unit);
}

std::string band_words(const ReadingLimits& limits, Judgement judgement) {
  if (judgement == Judgement::stop) {
    return limits.stop_below && limits.stop_above
               ? fmt::format("stop below {} or above {}", significant(*limits.stop_below),
                             significant(*limits.stop_above))
           : limits.stop_above ? fmt::format("stop above {}", significant(*limits.stop_above))
                               : fmt::format("stop below {}", significant(*limits.stop_below));
  }
  return fmt::format("band {} to {}", number_cell(limits.low), number_cell(limits.high));
}

void add_one(Page& page, const std::string& place, const std::string& figure,
             const ReadingLimits& limits, double value, Judgement judgement,
             const std::string& why) {
  page.item(judgement == Judgement::stop ? "STOP" : "outside",
            fmt::format("{}: {}, {} ({}){}", place, figure, side_words(limits, value, judgement),
                        band_words(limits, judgement),
                        judgement == Judgement::stop && !why.empty() ? ": " + why : ""));
}

/// Everything of one weight, whether the reading itself or a check.
void add_problems_of(Page& page, const ReadingsResult& result, Judgement judgement) {
  for (const JudgedStep& step : result.steps) {
    for (const JudgedBlank& judged : step.filled) {
      if (judged.value && judged.blank.judged && judged.own == judgement) {
        add_one(page, step_words(step),
                judged.blank.label + " " + figure_words(*judged.value, judged.blank.unit),
                limits_of(judged.blank), *judged.value, judgement, judged.blank.stop_why);
      }
      for (const JudgedCheck& part : judged.checks) {
        if (part.judgement == judgement) {
          add_one(page, step_words(step),
                  part.check.label + " " + figure_words(part.value, part.check.unit),
                  part.check.limits, part.value, judgement, part.check.stop_why);
        }
      }
    }
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

std::string judgement_cell(Judgement judgement, const ReadingLimits& limits, double value) {
  switch (judgement) {
    case Judgement::stop:
      return "STOP, " + side_words(limits, value, judgement);
    case Judgement::outside:
      return "outside, " + side_words(limits, value, judgement);
    default:
      return judgement_words(judgement);
  }
}

void add_rows(Table& table, const JudgedBlank& judged) {
  const Blank& blank = judged.blank;
  if (!judged.value) {
    table.row({blank.label, "\"" + judged.written + "\"", blank.unit, number_cell(blank.low),
               number_cell(blank.expected), number_cell(blank.high), "not read"});
    return;
  }
  table.row(
      {blank.label, significant(*judged.value), blank.unit, number_cell(blank.low),
       number_cell(blank.expected), number_cell(blank.high),
       blank.judged ? judgement_cell(judged.own, limits_of(blank), *judged.value) : "a setting"});
  for (const JudgedCheck& part : judged.checks) {
    const ReadingLimits& limits = part.check.limits;
    table.row({part.check.label, significant(part.value), part.check.unit, number_cell(limits.low),
               number_cell(limits.expected), number_cell(limits.high),
               judgement_cell(part.judgement, limits, part.value)});
  }
}

void add_step(Page& page, const JudgedStep& step, bool same_record) {
  page.heading(fmt::format("STEP {}", step_words(step)));
  for (const std::string& gate : step.open_gates) {
    page.item("!", "NOT TICKED: " + gate);
  }
  Table table({{"reading"},
               {"read", Align::right},
               {"unit"},
               {"min", Align::right},
               {"nominal", Align::right},
               {"max", Align::right},
               {"judgement"}});
  for (const JudgedBlank& judged : step.filled) {
    add_rows(table, judged);
  }
  page.blank().table(table, 2);
  for (const JudgedBlank& judged : step.filled) {
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
  for (const JudgedStep& step : result.steps) {
    add_step(page, step, result.sheet && !result.record_changed());
  }
  add_loose_ends(page, result);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
