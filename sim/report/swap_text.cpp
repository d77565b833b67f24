#include <fmt/format.h>

#include <cmath>

#include "netlists/situation.hpp"
#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/swap_report.hpp"

namespace firstglow::sim {
namespace {

// A supply that took longer than this had a rectifier tube to hold it back [s].
constexpr double kSlowRise = 1.0;

std::string change_words(double before, double after) {
  return before == 0.0 ? "-" : fmt::format("{:+.1f} %", 100.0 * (after / before - 1.0));
}

void add_supplies(Page& page, const SwapResult& result) {
  page.heading("EACH SUPPLY BEFORE AND AFTER: steady, nominal line and parts");
  Table table({{"stage"},
               {"node"},
               {"V DC before", Align::right},
               {"after", Align::right},
               {"change", Align::right},
               {"V p-p before", Align::right},
               {"after", Align::right}});
  for (const SwapReading& reading : result.readings) {
    table.row({netlists::stage_words(reading.stage), reading.node, significant(reading.before_v),
               significant(reading.after_v), change_words(reading.before_v, reading.after_v),
               significant(reading.before_vpp), significant(reading.after_vpp)});
  }
  page.table(table, 2);
}

void add_rises(Page& page, const SwapResult& result) {
  if (result.rises.empty()) {
    return;
  }
  page.heading("WHEN IT IS THERE: cold switch-on, nothing drawing, to 90 % of where it settles");
  Table table({{"node"},
               {"s before", Align::right},
               {"after", Align::right},
               {"peak V before", Align::right},
               {"after", Align::right}});
  for (const SwapRise& rise : result.rises) {
    table.row({rise.node, significant(rise.before_s), significant(rise.after_s),
               significant(rise.before_peak_v), significant(rise.after_peak_v)});
  }
  page.table(table, 2);
  page.text(
      "Indirectly heated cathodes begin to draw 10 to 30 s after switch-on, filaments after 1 to "
      "2 s (common practice, no source). Every second that a supply is there before, it stands "
      "at its unloaded volts.");
}

/// The rating each over-stressed part needs.
void add_ratings(Page& page, const SwapResult& result) {
  for (const core::Finding& finding : result.findings) {
    if (finding.verdict == core::Verdict::unsafe && finding.value && finding.limit) {
      page.item("-",
                fmt::format("{}: {} up to {}, rated {}: fit a part rated above that, or take "
                            "the cause away",
                            finding.part, finding.quantity, with_unit(*finding.value, finding.unit),
                            with_unit(*finding.limit, finding.unit)));
    }
  }
}

void add_additions(Page& page, const SwapResult& result) {
  page.heading("WHAT MUST BE ADDED");
  if (result.series) {
    const SeriesResistance& series = *result.series;
    page.item("-", fmt::format("{} behind the rectifiers brings {} back to {} under full load. It "
                               "turns {} into heat there: fit twice that. Unloaded {} still stands "
                               "at {}: the capacitors see that, resistor or not.",
                               with_unit(series.ohm, "ohm"), series.node,
                               with_unit(series.loaded_v, "V"), with_unit(series.watts, "W"),
                               series.node, with_unit(series.unloaded_v, "V")));
  }
  for (const SwapRise& rise : result.rises) {
    if (rise.after_s < 0.5 * rise.before_s && rise.before_s > kSlowRise) {
      page.item("-",
                fmt::format("{} is now there after {} instead of {}: a delay, a standby switch "
                            "or parts rated for its unloaded peak of {}.",
                            rise.node, waiting_time(rise.after_s), waiting_time(rise.before_s),
                            with_unit(rise.after_peak_v, "V")));
      break;
    }
  }
  add_ratings(page, result);
  if (!result.series && core::worst_verdict(result.findings) == core::Verdict::safe) {
    page.text("Nothing by these figures.");
  }
}

std::string share(const std::optional<core::Finding>& finding) {
  if (!finding) {
    return "-";
  }
  if (!finding->value || !finding->limit) {
    return "no verdict";
  }
  return fmt::format("{:.0f} %{}", 100.0 * *finding->value / *finding->limit,
                     finding->verdict == core::Verdict::unsafe ? " OVER" : "");
}

void add_margins(Page& page, const SwapResult& result) {
  page.heading("MARGINS THAT CHANGED: worst value in % of the rating");
  if (result.margins.empty()) {
    page.text("None by one per cent of its rating or more.");
    return;
  }
  Table table({{"part"}, {"what"}, {"before", Align::right}, {"after", Align::right}});
  for (const MarginChange& change : result.margins) {
    const core::Finding& named = change.after ? *change.after : *change.before;
    table.row({named.part, named.quantity, share(change.before), share(change.after)});
  }
  page.table(table, 2);
}

}  // namespace

core::Verdict swap_verdict(const SwapResult& result) {
  return core::worst_verdict(result.findings);
}

std::string swap_text(const core::Rig& rig, const SwapResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::swap);
  add_result_line(page, result.findings, swap_verdict(result));
  page.text("Judged is the rig after the change.", 8);
  add_supplies(page, result);
  add_rises(page, result);
  add_additions(page, result);
  add_margins(page, result);
  add_problems(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
