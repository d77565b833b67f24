#include <fmt/format.h>

#include <algorithm>

#include "sim/report/cautions.hpp"
#include "sim/report/drawer_report.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

const char* answer_words(DrawerAnswer answer) {
  switch (answer) {
    case DrawerAnswer::meets:
      return "meets all";
    case DrawerAnswer::fails:
      return "FAILS";
    case DrawerAnswer::not_known:
      return "no verdict";
    case DrawerAnswer::unfit:
      break;
  }
  return "unfit";
}

std::string marked_words(const core::StockPart& part) {
  std::string words;
  for (const std::string* each :
       {&part.type, &part.value, &part.tolerance, &part.volts, &part.watts, &part.amps}) {
    if (!each->empty()) {
      words += (words.empty() ? "" : ", ") + *each;
    }
  }
  return words;
}

std::string why_words(const DrawerRow& row) {
  std::string words = row.why;
  if (row.closest) {
    const core::Finding& finding = *row.closest;
    words += fmt::format("{}{} {}", words.empty() ? "" : ": ", finding.part, finding.quantity);
    if (finding.value) {
      words += fmt::format(" {}", with_unit(*finding.value, finding.unit));
    }
    if (finding.limit) {
      words += fmt::format(" of {}", with_unit(*finding.limit, finding.unit));
    } else if (!finding.note.empty()) {
      words += ": " + finding.note;
    }
  }
  return words;
}

std::string fits_words(const std::optional<bool>& fits) {
  return fits ? (*fits ? "yes" : "NO") : "?";
}

void add_rows(Page& page, const DrawerResult& result) {
  page.heading(fmt::format("IN PLACE OF {}: best first", result.part));
  Table table({{"drawer"},
               {"marked"},
               {"answer"},
               {"margin", Align::right},
               {"fits"},
               {"have", Align::right}});
  for (const DrawerRow& row : result.rows) {
    table.row({row.part.name, marked_words(row.part), answer_words(row.answer),
               row.least_margin && row.answer != DrawerAnswer::not_known
                   ? percent(*row.least_margin)
                   : "-",
               fits_words(row.fits), fmt::format("{}", row.part.quantity)});
  }
  page.table(table, 2);
  page.blank();
  for (const DrawerRow& row : result.rows) {
    if (const std::string why = why_words(row); !why.empty()) {
      page.item("-", fmt::format("{}: {}", row.part.name, why));
    }
  }
}

}  // namespace

core::Verdict drawer_verdict(const DrawerResult& result) {
  return result.findings.empty() ? core::Verdict::no_verdict : core::worst_verdict(result.findings);
}

std::string drawer_text(const core::Rig& rig, const DrawerResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::drawer);
  const auto meets = std::count_if(result.rows.begin(), result.rows.end(), [](const DrawerRow& r) {
    return r.answer == DrawerAnswer::meets;
  });
  page.blank().text(
      meets > 0
          ? fmt::format("RESULT: {} of {} in the list keep every margin of {} and worsen no other, "
                        "under the assumptions below.",
                        meets, result.rows.size(), result.part)
          : fmt::format("RESULT: NO VERDICT. Nothing in the list is known to keep every "
                        "margin in place of {}.",
                        result.part),
      0, 8);
  if (result.over_elsewhere > 0) {
    page.text(fmt::format("BUT: other parts of this rig are over {} limits already, whatever is "
                          "fitted here: run margins.",
                          result.over_elsewhere),
              8);
  }
  add_rows(page, result);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
