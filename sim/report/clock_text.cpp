#include <fmt/format.h>

#include "sim/report/cautions.hpp"
#include "sim/report/clock_report.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

constexpr double kForeverSeconds = 1e7;
constexpr std::size_t kMostShown = 8;
constexpr double kEndOfRange = 19.0;  ///< of the 20 that are tried

std::string seconds_cell(double rc_s) {
  return rc_s >= kForeverSeconds ? "never" : significant(rc_s);
}

std::string explained(const ClockFit& fit) {
  if (fit.fault == ClockFault::drifted) {
    return fmt::format("{} drifted to {} times its value{}", fit.part, significant(*fit.factor),
                       *fit.factor > kEndOfRange ? " or more" : "");
  }
  if (fit.fault == ClockFault::low_capacitance) {
    return fmt::format("{} fallen to {:.0f} % of its capacitance", fit.part, 100.0 * *fit.factor);
  }
  return fit.name;
}

void add_answer(Page& page, const ClockResult& result) {
  page.heading("WHAT FITS");
  std::vector<const ClockFit*> fitting;
  for (const ClockFit& fit : result.fits) {
    if (fit.fits && (fit.tie || fitting.empty())) {
      fitting.push_back(&fit);
    }
  }
  if (fitting.empty()) {
    page.text(
        "NOTHING that was tried: two faults at once, a record that is not the rig, or "
        "wrong readings. Take the ohms of every path, cold.");
  } else if (fitting.size() == 1) {
    page.text(explained(*fitting.front()) + ".");
  } else {
    page.text("TIE: these fit about as well, and this test cannot tell them apart:");
    for (const ClockFit* fit : fitting) {
      page.item("-", explained(*fit) + ".");
    }
    page.text(
        "A reading at another point (each can of a stack by itself), or an ohmmeter, cold, "
        "decides.");
  }
}

void add_readings(Page& page, const ClockResult& result) {
  page.heading("THE FALL, " + result.place);
  Table table({{"after\ns", Align::right}, {"read\nV", Align::right}});
  for (const ClockReading& reading : result.readings) {
    table.row({significant(reading.time_s), significant(reading.volts)});
  }
  page.blank().table(table, 2);
  if (result.start_predicted) {
    page.text("The volts at 0 s are predicted, not read.");
  }
  page.text(
      fmt::format("Effective RC: {} s, within {} s. The intact rig: {} s, {} to {} s over its "
                  "tolerances.",
                  significant(result.rc_s), significant(2.0 * result.rc_error_s),
                  seconds_cell(result.intact_rc_s.nominal), seconds_cell(result.intact_rc_s.low),
                  seconds_cell(result.intact_rc_s.high)));
}

void add_tried(Page& page, const ClockResult& result) {
  page.heading("TRIED, best first");
  page.text("off: squared deviation; up to 6 counts as fitting.");
  Table table({{"explanation", Align::left},
               {"times\nvalue", Align::right},
               {"RC\ns", Align::right},
               {"off", Align::right},
               {"fits", Align::left}});
  std::string unseen;
  std::size_t shown = 0;
  for (const ClockFit& fit : result.fits) {
    if (!fit.failure.empty()) {
      page.item("?", fit.name + ": " + fit.failure);
    } else if (!fit.seen) {
      unseen += (unseen.empty() ? "" : ", ") + fit.name;
    } else if (shown++ < kMostShown) {
      table.row({fit.name, fit.factor ? significant(*fit.factor) : "-", seconds_cell(fit.rc_s),
                 significant(fit.off),
                 fit.tie    ? "tie"
                 : fit.fits ? "yes"
                            : "no"});
    }
  }
  page.blank().table(table, 2);
  if (!unseen.empty()) {
    page.text(fmt::format("From here it cannot be seen whether: {}.", unseen), 0, 2);
  }
}

}  // namespace

core::Verdict clock_verdict(const ClockResult& result) {
  return core::worst_verdict(result.findings);
}

std::string clock_text(const core::Rig& rig, const ClockResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::clock);
  add_result_line(page, result.findings, clock_verdict(result));
  add_answer(page, result);
  add_readings(page, result);
  add_tried(page, result);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
