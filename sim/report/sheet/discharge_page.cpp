#include <fmt/format.h>

#include <algorithm>

#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/report/sheet/longest_discharge.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/sheet_plots.hpp"

namespace firstglow::sim {
namespace {

/// The longest wait with everything intact, in large letters, with its assumption.
void put_wait(Html& html, const BleedResult& bleed) {
  std::optional<double> longest_s = 0.0;
  bool failed = bleed.cases.empty();
  std::string last;
  for (const DischargeCase& one : bleed.cases) {
    failed = failed || (one.open_part.empty() && !one.failure.empty());
    const bool longer = longest_s && (!one.last_s || *one.last_s > *longest_s);
    if (one.open_part.empty() && one.failure.empty() && longer) {
      longest_s = one.last_s;
      last = one.last_part;
    }
  }
  html.element(
      "p",
      failed ? std::string("NO ANSWER for the intact rig: treat every capacitor as "
                           "charged until it was measured.")
             : fmt::format("With every bleeder intact, predicted {} {}{}. One open part "
                           "changes that: see the table. Waiting proves nothing; measure.",
                           bleed.limit.words,
                           longest_s ? "after " + waiting_time(*longest_s) : std::string("NEVER"),
                           last.empty() ? "" : fmt::format(" ({} is the last)", last)),
      {{"class", "verdict"}});
}

/// Each capacitor by itself: what is predicted, and what was measured.
void put_times(Html& html, const core::Rig& rig, const BleedResult& bleed) {
  HtmlTable table(fmt::format("Each capacitor by itself: time to fall {}", bleed.limit.words),
                  {{"Capacitor"},
                   {"From, V", HtmlColumnKind::number},
                   {"Intact", HtmlColumnKind::number},
                   {"Worst single path open"},
                   {"Measured, s", HtmlColumnKind::blank}});
  for (const core::Part& part : rig.parts) {
    if (!std::holds_alternative<core::Capacitor>(part.data)) {
      continue;
    }
    const std::string& name = part.designator;
    const auto start_v = start_volts(bleed, name);
    const LongestDischarge open = longest_discharge(bleed, name, DischargePaths::one_open);
    table.row({name, start_v ? significant(*start_v) : "not known",
               discharge_words(longest_discharge(bleed, name, DischargePaths::intact)),
               discharge_words(open) + (open.answered ? ": " + open.case_name : ""),
               Markup{words_html({blank_id({"discharge", name}),
                                  name + ": seconds to the limit, measured", 1, ""},
                                 LabelPlace::hidden)}});
  }
  html.table(table);
  html.paragraph(
      "A measured time far above the intact one says that a bleeder has drifted or is open: "
      "firstglow clock tells which. The bleeder test is done at the lowest step that gives a "
      "reading, not at full volts.");
}

void put_stick(Html& html, const Answered<StickResult>& stick) {
  html.element("h3", "The stick");
  if (!stick.result) {
    put_no_answer(html, stick.failure);
    return;
  }
  const StickResult& result = *stick.result;
  html.list({fmt::format("Resistor: {}, wire wound, {} or more, standing {}. [EIA-815] [MIL-R-26]",
                         with_unit(result.ohm, "ohm"), with_unit(result.watts, "W"),
                         with_unit(result.working_v, "V")),
             "Its ohms read before and after. A stick that has opened does nothing and says "
             "nothing.",
             "Its lead goes on the chassis first. One hand. Ten seconds of rest between two shots.",
             "No bare short before the meter shows next to nothing."});
  HtmlTable table("One shot on each capacitor, bleeders open",
                  {{"Capacitor"},
                   {"From, V", HtmlColumnKind::number},
                   {"First amps", HtmlColumnKind::number},
                   {"Joules", HtmlColumnKind::number},
                   {"Hold on", HtmlColumnKind::number},
                   {"Hook on at least", HtmlColumnKind::number}});
  for (const StickShot& shot : result.shots) {
    table.row({shot.part, significant(shot.start_v), significant(shot.peak_a),
               significant(shot.joules), shot.limit_s ? waiting_time(*shot.limit_s) : "NEVER",
               shot.hook_s ? waiting_time(*shot.hook_s) : "a month"});
  }
  html.table(table);
}

void put_rebound(Html& html, const BleedResult& bleed) {
  HtmlTable table("What comes back after the short is taken off",
                  {{"Capacitor"},
                   {"Dielectric"},
                   {"From, V", HtmlColumnKind::number},
                   {"Climbs to, V", HtmlColumnKind::number},
                   {"Over the limit after"}});
  for (const Rebound& rebound : bleed.rebounds) {
    table.row({rebound.part, rebound.dielectric, significant(rebound.start_v),
               significant(rebound.peak_v),
               rebound.above_after_s ? waiting_time(*rebound.above_after_s) : "stays below"});
  }
  html.table(table);
  html.paragraph(
      "By the highest absorption published for the dielectric; one can may do worse. "
      "The hook stays on while hands are inside. [GLASER-DA]");
}

void put_bleeders(Html& html, const BleedResult& bleed) {
  HtmlTable table("Bleeders on duty, high line, worst stage", {{"Part"},
                                                               {"Volts", HtmlColumnKind::number},
                                                               {"Rated"},
                                                               {"Watts", HtmlColumnKind::number},
                                                               {"Rated"}});
  for (const BleederDuty& duty : bleed.bleeders) {
    table.row({duty.part, significant(duty.volts_dc),
               duty.working_volts ? with_unit(*duty.working_volts, "V") : "not known",
               significant(duty.watts),
               duty.rated_watts ? with_unit(*duty.rated_watts, "W") : "not known"});
  }
  html.table(table);
}

}  // namespace

Markup discharge_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"discharge", "After switch-off"});
  html.element("h3", "In this order, every time");
  html.list(discharge_steps(), "ol", {{"class", "order"}});
  if (!input.answers.bleed.result) {
    put_no_answer(html, input.answers.bleed.failure);
    put_stick(html, input.answers.stick);
    html.close();
    return html.take();
  }
  const BleedResult& bleed = *input.answers.bleed.result;
  put_wait(html, bleed);
  html.list(bleed.warnings, "ul", {{"class", "remarks"}});
  put_times(html, input.rig, bleed);
  put_stick(html, input.answers.stick);
  html.paste(discharge_plot(bleed));
  put_rebound(html, bleed);
  html.paste(rebound_plot(bleed));
  put_bleeders(html, bleed);
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
