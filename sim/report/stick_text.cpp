#include <fmt/format.h>

#include <algorithm>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/stick_report.hpp"

namespace firstglow::sim {
namespace {

/// 30 A for a half cycle of 60 Hz, I^2 t / 2 of the sine [1N4007-DS].
constexpr double kDiodeI2t = 30.0 * 30.0 * 8.3e-3 / 2.0;

void add_stick(Page& page, const StickResult& result) {
  page.heading(result.worked_out ? "THE STICK FOR THIS RIG" : "THE STICK AT HAND, ON THIS RIG");
  page.item("-", fmt::format("Resistor: {}{}.", with_unit(result.ohm, "ohm"),
                             result.worked_out
                                 ? ", at most 10 kohm and at least one ohm per volt [EIA-815]"
                                 : ""));
  page.item("-", fmt::format("Watts: {} or more, wire wound (ten times that for 5 s [MIL-R-26]). "
                             "Ten seconds of rest between two shots.",
                             with_unit(result.watts, "W")));
  page.item("-", fmt::format("It must stand {}: one small resistor does not; put several of equal "
                             "ohms in series, or one long one, inside an insulating tube.",
                             with_unit(result.working_v, "V")));
  page.item("-",
            "Prove it with an ohmmeter before and after: a stick whose resistor has opened does "
            "nothing and says nothing.");
}

void add_shots(Page& page, const StickResult& result) {
  page.heading("ONE SHOT ON EACH CAPACITOR, bleeders open");
  Table table({{"part"},
               {"from", Align::right},
               {"first\namps", Align::right},
               {"first\nwatts", Align::right},
               {"joules\na shot", Align::right},
               {result.limit.words, Align::right},
               {"hook on\nat least", Align::right}});
  for (const StickShot& shot : result.shots) {
    table.row({shot.part, with_unit(shot.start_v, "V"), with_unit(shot.peak_a, "A"),
               with_unit(shot.peak_w, "W"), with_unit(shot.joules, "J"),
               shot.limit_s ? waiting_time(*shot.limit_s) : "NEVER",
               shot.hook_s ? waiting_time(*shot.hook_s) : "a month"});
  }
  page.table(table);
  page.text(
      "The hook stays on while hands are inside, however long that is; the time is what the "
      "dielectric needs not to climb back over the limit by the next day.");
}

void add_hard_short(Page& page, const StickResult& result) {
  page.heading("A BARE SHORT INSTEAD: what it would do");
  Table table({{"part"},
               {"peak", Align::right},
               {"after", Align::right},
               {"spark, lead and\ncapacitor", Align::right},
               {"I2t", Align::right}});
  std::string diodes;
  for (const StickShot& shot : result.shots) {
    table.row({shot.part, with_unit(shot.hard.peak_a, "A"), instant(shot.hard.peak_s),
               with_unit(shot.hard.joules, "J"), with_unit(shot.hard.i2t, "A2s")});
    if (shot.hard.i2t > kDiodeI2t) {
      diodes += (diodes.empty() ? "" : ", ") + shot.part;
    }
  }
  page.table(table);
  page.item("-", diodes.empty()
                     ? "None of them passes the 3.7 A2s that a 1 A silicon diode stands once."
                     : fmt::format("{}: more than the 3.7 A2s that a 1 A silicon diode stands once "
                                   "[1N4007-DS]: one between B- and chassis goes, and then the "
                                   "meters hang on the full volts.",
                                   diodes));
  page.item("-",
            "A meter shunt in the way takes its ohms times I2t in joules within a millisecond; a "
            "wire shunt of some 0.1 ohm opens, and the movement is next.");
  page.item("-",
            "So the resistor first, and the bare hook only when the meter shows next to nothing.");
}

}  // namespace

core::Verdict stick_verdict(const StickResult& result) {
  return core::worst_verdict(result.findings);
}

std::string stick_text(const core::Rig& rig, const StickResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::stick);
  add_result_line(page, result.findings, stick_verdict(result));
  add_stick(page, result);
  page.heading("IN THIS ORDER, EVERY TIME");
  int number = 0;
  for (const std::string& step : discharge_steps()) {
    page.item(fmt::format("{}.", ++number), step);
  }
  add_shots(page, result);
  add_hard_short(page, result);
  add_problems(page, result.findings);
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
