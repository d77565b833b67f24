#include <fmt/format.h>

#include <algorithm>

#include "core/limits.hpp"
#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/shown_text.hpp"

namespace firstglow::sim {
namespace {

Markup words_blank(const char* id, const char* label, const std::string& value = {}) {
  return {words_html({blank_id({"front", id}), label, 1, value}, LabelPlace::hidden)};
}

void put_cautions(Html& html) {
  html.open("div", {{"class", "danger"}, {"role", "note"}});
  html.element("h3", "Before anything else");
  html.list(cautions(Topic::rampup));
  html.paragraph(
      "The electrical code where you are, and a person licensed to work under it, come before "
      "every line of this sheet. If you have not worked at these volts before, do it with somebody "
      "who has. Words in brackets name sources: docs/references.md of firstglow says what each is "
      "and how it was read.");
  html.close();
}

void put_verdict(Html& html, const SheetInput& input) {
  const std::vector<core::Finding> findings = sheet_findings(input.answers);
  const auto count = [&findings](core::Verdict verdict) {
    return std::count_if(findings.begin(), findings.end(),
                         [verdict](const core::Finding& one) { return one.verdict == verdict; });
  };
  const auto unsafe = count(core::Verdict::unsafe), unknown = count(core::Verdict::no_verdict);
  const auto kept = count(core::Verdict::safe);
  switch (sheet_verdict(input.answers)) {
    case core::Verdict::unsafe:
      html.element(
          "p",
          fmt::format("UNSAFE as recorded: {} limit{} exceeded, {} more without a verdict. "
                      "No power until this is changed: see Margins.",
                      unsafe, unsafe == 1 ? "" : "s", unknown),
          {{"class", "verdict bad"}});
      return;
    case core::Verdict::no_verdict:
      html.element("p",
                   fmt::format("NO VERDICT: {} limits could not be judged{}. Treat what is not "
                               "known as over its limit: see Margins.",
                               unknown,
                               kept > 0 ? fmt::format("; none of the other {} is exceeded", kept)
                                        : std::string()),
                   {{"class", "verdict bad"}});
      return;
    case core::Verdict::safe:
      break;
  }
  html.element("p",
               fmt::format("No limit exceeded, of {} judged, for the parts as recorded and within "
                           "tolerance. This says nothing about a hand near the rig.",
                           findings.size()),
               {{"class", "verdict"}});
}

void put_facts(Html& html, const SheetInput& input) {
  const core::MainsInlet& mains = input.rig.mains();
  const auto volts = [](core::RmsVolts value) { return with_unit(value.si(), "V"); };
  HtmlTable table("This power-up", {{"What"}, {"Written here", HtmlColumnKind::blank}});
  table.row({"Rig", input.rig.name});
  table.row({"Record", fmt::format("{} (fingerprint {})", input.rig.file, input.facts.record)});
  table.row({"Date", words_blank("date", "Date", input.head.date)});
  table.row({"Line the sheet is made for", fmt::format("{} rms, {}; {} to {}", volts(mains.nominal),
                                                       with_unit(mains.frequency.si(), "Hz"),
                                                       volts(mains.low), volts(mains.high))});
  table.row({"Line measured today, V", words_blank("line", "Line measured today, V")});
  table.row({"Operator: turns the variac, reads",
             words_blank("operator", "Operator", input.head.operator_name)});
  table.row(
      {"Watcher: stands at the cut-off", words_blank("watcher", "Watcher", input.head.watcher)});
  table.row({"Where the power is cut",
             words_blank("cut-off", "Where the power is cut", input.head.cut_off)});
  table.row({"Emergency number, and where we are",
             words_blank("emergency", "Emergency number, and where we are")});
  table.row({"Air: degrees, humidity", words_blank("air", "Air: degrees, humidity")});
  html.table(table);
}

void put_limits(Html& html, const SheetInput& input) {
  HtmlTable table("Limits used; your own come first", {{"Limit"}, {"Value"}, {"From"}});
  table.row({"A node is listed as live above", "42.4 V peak; 60 V DC", "[IEC-61010-1]"});
  if (input.answers.bleed.result) {
    const BleedLimit& limit = input.answers.bleed.result->limit;
    table.row({"A capacitor counts as discharged", limit.words,
               fmt::format("{}; written for: {}", source_words(limit.source), limit.purpose)});
  }
  table.row({"A charge is a shock hazard",
             "over 0.25 J from 400 V; 1 J from 100 V; 100 J below 100 V", "[NFPA-70E-360]"});
  table.row({"Stop: mains amps", "half above the prediction, or above its band where that is wider",
             "common practice, no source"});
  table.row({"Stop: lamp watts", "twice the prediction, or above its band where that is wider",
             "common practice, no source"});
  table.row({"Stop: B+ per mains volt", "10 % off, or outside its band where that is wider",
             "common practice, no source"});
  table.row({"Stop: joint of two cans",
             "5 % of the stack off, or outside its band where that is wider",
             "common practice, no source"});
  table.row({"Ratings of parts", "as the record has them", "record; margins page"});
  html.table(table);
}

void put_not_known(Html& html, const SheetInput& input) {
  html.element("h3", "What this sheet cannot know");
  html.list({"A loose or wrong wire: the record says how it should be wired.",
             "A part that has changed since it was measured, or was entered wrong.",
             "Wet, dirty or carbonised insulation; a cracked feed-through; a swollen can.",
             "What hangs on sockets and connectors.",
             "You: tired, hurried or interrupted means stop for today."});
  const std::vector<MissingItem>& missing = input.answers.check.missing;
  if (missing.empty()) {
    html.paragraph("No figure that the studies ask for is missing in the record.");
    return;
  }
  HtmlTable table("Missing in the record", {{"Part"}, {"Missing"}, {"No verdict without it"}});
  for (const MissingItem& item : missing) {
    table.row({item.part, item.what, item.answers});
  }
  html.table(table);
}

}  // namespace

Markup front_page(const SheetInput& input) {
  Html html;
  html.open("section",
            {{"class", "page"}, {"id", "front"}, {"tabindex", "-1"}, {"aria-labelledby", "rig"}});
  html.element("h1", fmt::format("{}: first power-up", input.rig.name), {{"id", "rig"}});
  if (!input.rig.description.empty()) {
    html.element("p", input.rig.description, {{"class", "lead"}});
  }
  put_verdict(html, input);
  put_cautions(html);
  put_facts(html, input);
  html.list(input.answers.check.remarks, "ul", {{"class", "remarks"}});
  put_limits(html, input);
  put_not_known(html, input);
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
