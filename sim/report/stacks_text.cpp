#include <fmt/format.h>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/stacks_report.hpp"

namespace firstglow::sim {
namespace {

std::string cell(const std::optional<double>& value) { return value ? significant(*value) : "?"; }

void add_sections(Page& page, const StackAnswer& stack) {
  Table table({{"can", Align::left},
               {"equaliser", Align::left},
               {"leaks\nmA", Align::right},
               {"usual\nV DC", Align::right},
               {"at once\nV peak", Align::right},
               {"surge\nV", Align::right},
               {"hours\nV DC", Align::right},
               {"working\nV", Align::right}});
  for (const SectionAnswer& section : stack.sections) {
    table.row({section.cans, section.equalisers.empty() ? "NONE" : section.equalisers,
               significant(1e3 * section.leakage_a) + (section.leakage_assumed ? "*" : ""),
               significant(section.nominal_v), significant(section.fast_v), cell(section.surge_v),
               cell(section.slow_v), cell(section.working_v)});
  }
  page.blank().table(table, 2);
  page.text("at once, hours: worst corner of each can. * leakage assumed. ?: not known.");
}

void add_advice(Page& page, const StackAnswer& stack) {
  page.blank().text("EQUALISER that keeps every can within its working volts:");
  if (!stack.largest_ohm) {
    page.item("!",
              "None: the volts are too high for these cans, or their working volts are not "
              "in the record.");
    return;
  }
  const core::EqualiserDuty& duty = *stack.duty;
  page.item(
      "-", fmt::format("Across each can at most {}: take {}.", with_unit(*stack.largest_ohm, "ohm"),
                       with_unit(*stack.advised_ohm, "ohm")));
  page.item("-",
            duty.in_series == 1
                ? fmt::format("One resistor, {} W or more; it sees {} V and turns {} W into heat.",
                              significant(duty.each_rated.si()), significant(duty.each_volts.si()),
                              significant(duty.each_watts.si()))
                : fmt::format("{} in series for each can, {} each, {} W or more: one alone would "
                              "not stand the volts. Each sees {} V and turns {} W into heat.",
                              duty.in_series, with_unit(duty.each.si(), "ohm"),
                              significant(duty.each_rated.si()), significant(duty.each_volts.si()),
                              significant(duty.each_watts.si())));
  page.item("-",
            fmt::format("For comparison: ten times the leakage gives {}; 100 ohm per volt "
                        "gives {} [ARRL-HB].",
                        with_unit(stack.tenfold_ohm, "ohm"), with_unit(stack.hundred_ohm, "ohm")));
}

void add_open(Page& page, const StackAnswer& stack) {
  if (stack.open.empty()) {
    return;
  }
  page.blank().text("ONE EQUALISER OPEN while the rig stands switched on, its can tight:");
  Table table({{"open", Align::left},
               {"can", Align::left},
               {"1 h\nV", Align::right},
               {"24 h\nV", Align::right},
               {"over working\nvolts after", Align::right},
               {"over surge\nvolts after", Align::right}});
  for (const OpenEqualiser& open : stack.open) {
    table.row({open.part, open.cans, significant(open.after_hour_v), significant(open.after_day_v),
               open.over_working_s ? waiting_time(*open.over_working_s) : "-",
               open.over_surge_s ? waiting_time(*open.over_surge_s) : "-"});
  }
  page.blank().table(table, 2);
}

}  // namespace

core::Verdict stacks_verdict(const StacksResult& result) {
  return core::worst_verdict(result.findings);
}

std::string stacks_text(const core::Rig& rig, const StacksResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::stacks);
  if (result.stacks.empty()) {
    page.heading("NO STACK");
    page.text("No two capacitors stand in series in this rig: nothing to share, no verdict.");
  } else {
    add_result_line(page, result.findings, stacks_verdict(result));
  }
  for (const StackAnswer& stack : result.stacks) {
    page.heading(fmt::format("{} to {}", stack.top, stack.bottom));
    if (!stack.failure.empty()) {
      page.item("?", "NO ANSWER: " + stack.failure);
      continue;
    }
    page.text(
        fmt::format("{} V DC at high line with nothing drawing; {} V at the peak of a cold "
                    "switch-on.",
                    significant(stack.supply_v), significant(stack.peak_v)));
    add_sections(page, stack);
    add_advice(page, stack);
    add_open(page, stack);
  }
  add_problems(page, result.findings);
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
