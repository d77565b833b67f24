#include "sim/studies/stack_findings.hpp"

#include <algorithm>

namespace firstglow::sim {
namespace {

core::Finding volts_finding(const char* rule, const std::string& part, const char* quantity,
                            std::optional<double> value, std::optional<double> limit) {
  core::Finding finding;
  finding.rule = rule;
  finding.part = part;
  finding.quantity = quantity;
  finding.unit = "V";
  finding.value = value;
  finding.limit = limit;
  finding.limit_source = "rating in the record";
  if (value && limit) {
    finding.verdict = *value <= *limit ? core::Verdict::safe : core::Verdict::unsafe;
  }
  return finding;
}

void add_section(const SectionAnswer& section, std::vector<core::Finding>& findings) {
  const std::optional<double> fast_limit = section.surge_v ? section.surge_v : section.working_v;
  core::Finding fast = volts_finding("stack-volts-at-once", section.cans,
                                     "volts in the stack, at once", section.fast_v, fast_limit);
  fast.situation = "cold switch-on at high line, its capacitance low, all others high";
  if (!fast_limit) {
    fast.note = "working_volts is not in the record";
  } else if (!section.surge_v) {
    fast.limit_source = "working volts in the record; no surge volts are marked";
  }
  findings.push_back(fast);
  core::Finding slow =
      volts_finding("stack-volts-after-hours", section.cans, "volts in the stack, after hours",
                    section.slow_v, section.working_v);
  slow.situation = "high line, nothing drawing, it leaks nothing and all others all they may";
  if (!section.slow_v) {
    slow.note = "a section has no equaliser: the share rests on leakage that nobody knows";
  } else if (!section.working_v) {
    slow.note = "working_volts is not in the record";
  }
  findings.push_back(slow);
}

/// Watts and volts of the resistors of a section with its worst volts across them.
void add_equalisers(const core::Rig& rig, const SectionAnswer& section,
                    std::vector<core::Finding>& findings) {
  for (const core::Part& part : rig.parts) {
    const auto* resistor = std::get_if<core::Resistor>(&part.data);
    const std::string listed = "+" + section.equalisers + "+";
    if (resistor == nullptr || !section.slow_v ||
        listed.find("+" + part.designator + "+") == std::string::npos) {
      continue;
    }
    const double volts = *section.slow_v;
    core::Finding hot =
        volts_finding("equaliser-watts", part.designator, "watts, after hours",
                      volts * volts / resistor->value.low().si(),
                      resistor->watts ? std::optional(resistor->watts->si()) : std::nullopt);
    hot.unit = "W";
    hot.note = resistor->watts ? "" : "watts is not in the record";
    core::Finding high = volts_finding(
        "equaliser-volts", part.designator, "volts across, after hours", volts,
        resistor->working_volts ? std::optional(resistor->working_volts->si()) : std::nullopt);
    high.note = resistor->working_volts ? "" : "working_volts is not in the record";
    hot.situation = high.situation = "high line, worst share of its can";
    findings.push_back(hot);
    findings.push_back(high);
  }
}

}  // namespace

std::vector<core::Finding> stack_findings(const core::Rig& rig,
                                          const std::vector<StackAnswer>& stacks) {
  std::vector<core::Finding> findings;
  for (const StackAnswer& stack : stacks) {
    if (!stack.failure.empty()) {
      core::Finding failed;
      failed.rule = "simulation";
      failed.quantity = "run of the stack from " + stack.top + " to " + stack.bottom;
      failed.note = stack.failure;
      findings.push_back(failed);
    }
    for (const SectionAnswer& section : stack.sections) {
      add_section(section, findings);
      add_equalisers(rig, section, findings);
    }
  }
  std::stable_sort(findings.begin(), findings.end(),
                   [](const core::Finding& a, const core::Finding& b) {
                     return a.margin().value_or(1e9) < b.margin().value_or(1e9);
                   });
  return findings;
}

}  // namespace firstglow::sim
