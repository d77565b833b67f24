#include <fmt/format.h>

#include <algorithm>

#include "sim/report/numbers.hpp"
#include "sim/report/part_words.hpp"
#include "sim/report/sheet/sheet_pages.hpp"

namespace firstglow::sim {
namespace {

/// The finding of this unit that leaves the part the least room; nullptr when there is none.
const core::Finding* tightest(const std::vector<core::Finding>& findings, const std::string& part,
                              const std::string& unit) {
  const core::Finding* worst = nullptr;
  for (const core::Finding& finding : findings) {
    if (finding.part != part || finding.unit != unit || !finding.value) {
      continue;
    }
    const bool no_room = !finding.margin();
    if (worst == nullptr || no_room || (worst->margin() && *finding.margin() < *worst->margin())) {
      worst = &finding;
    }
  }
  return worst;
}

/// "512 of 1000", "512 of ?" or "-".
std::string of_words(const core::Finding* finding) {
  if (finding == nullptr) {
    return "-";
  }
  return fmt::format("{} of {}", significant(*finding->value),
                     finding->limit ? significant(*finding->limit) : "?");
}

std::string joined(const std::vector<std::string>& lines) {
  std::string words;
  for (const std::string& line : lines) {
    words += (words.empty() ? "" : "; ") + line;
  }
  return words;
}

void put_totals(Html& html, const core::Rig& rig, const std::vector<core::Finding>& findings) {
  HtmlTable table("Resistors: watts AND volts; a resistor has both ratings",
                  {{"Part"},
                   {"Value"},
                   {"Rated W", HtmlColumnKind::number},
                   {"Worst of rated W", HtmlColumnKind::number},
                   {"Rated V", HtmlColumnKind::number},
                   {"Worst of rated V", HtmlColumnKind::number}});
  for (const core::Part& part : rig.parts) {
    const auto* resistor = std::get_if<core::Resistor>(&part.data);
    if (resistor != nullptr) {
      table.row({part.designator, with_unit(resistor->value.nominal().si(), "ohm"),
                 resistor->watts ? plain(resistor->watts->si()) : "?",
                 of_words(tightest(findings, part.designator, "W")),
                 resistor->working_volts ? plain(resistor->working_volts->si()) : "?",
                 of_words(tightest(findings, part.designator, "V"))});
    }
  }
  html.table(table);
}

}  // namespace

Markup parts_page(const SheetInput& input) {
  const std::vector<core::Finding> findings = sheet_findings(input.answers);
  Html html;
  begin_page(html, {"parts", "Parts"});
  html.paragraph("Compare with what is on the chassis, part by part. ? means: not in the record.");
  put_totals(html, input.rig, findings);
  HtmlTable table("All parts as understood", {{"Part"},
                                              {"Kind and nodes"},
                                              {"Values and ratings"},
                                              {"Worst of rated V", HtmlColumnKind::number},
                                              {"Worst of rated W", HtmlColumnKind::number}});
  for (const core::Part& part : input.rig.parts) {
    const PartWords words = part_words(input.rig, part);
    table.row({part.designator, fmt::format("{}; {}", words.kind, words.nodes), joined(words.lines),
               of_words(tightest(findings, part.designator, "V")),
               of_words(tightest(findings, part.designator, "W"))});
  }
  html.table(table);
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
