#include <fmt/format.h>

#include <algorithm>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/lamp_table.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/rampup_gates.hpp"
#include "sim/report/rampup_report.hpp"
#include "sim/report/rampup_tables.hpp"
#include "sim/report/regulator_table.hpp"

namespace firstglow::sim {
namespace {

std::size_t failed_steps(const RampupResult& result) {
  std::size_t failed = 0;
  for (const RampPass& pass : result.passes) {
    failed += static_cast<std::size_t>(
        std::count_if(pass.steps.begin(), pass.steps.end(),
                      [](const RampStep& step) { return !step.failure.empty(); }));
  }
  return failed;
}

void add_result(Page& page, const RampupResult& result) {
  if (!result.findings.empty()) {
    add_result_line(page, result.findings, rampup_verdict(result));
  } else if (result.passes.empty()) {
    page.blank().text("RESULT: NO VERDICT. No step was run.");
  } else {
    page.blank().text(
        "RESULT: no part is over its rated watts on these steps, where the rating is known.", 0, 8);
  }
  page.text("Only heat is judged here; run margins for every other stress.", 8);
  if (const std::size_t failed = failed_steps(result); failed > 0) {
    page.text(fmt::format("Steps with NO PREDICTION: {}. Do not go to them.", failed));
  }
}

void add_pass(Page& page, const RampPass& pass, std::size_t sheet, std::size_t sheets) {
  page.heading(fmt::format("SHEET {} of {}: {}, {}", sheet, sheets,
                           netlists::stage_words(pass.stage),
                           pass.with_lamp ? "LAMP IN SERIES" : "no lamp"));
  add_gates(page, pass);
  add_stop_tables(page, pass);
  page.blank().text("Mains side (true rms meter)");
  add_mains_table(page, pass);
  add_step_warnings(page, pass);
  add_node_tables(page, pass);
  add_midpoint_tables(page, pass);
  add_regulator_table(page, pass);
  add_heat_table(page, pass);
}

/// Passes of the result by stage, in order.
std::vector<std::vector<const RampPass*>> by_stage(const RampupResult& result) {
  std::vector<std::vector<const RampPass*>> stages;
  for (const RampPass& pass : result.passes) {
    if (stages.empty() || stages.back().front()->stage != pass.stage) {
      stages.emplace_back();
    }
    stages.back().push_back(&pass);
  }
  return stages;
}

void add_lamps(Page& page, const RampupResult& result) {
  if (!result.lamps.empty()) {
    add_lamp_table(page, result.lamps);
  }
}

}  // namespace

core::Verdict rampup_verdict(const RampupResult& result) {
  const core::Verdict worst = result.findings.empty() && !result.passes.empty()
                                  ? core::Verdict::safe
                                  : core::worst_verdict(result.findings);
  return failed_steps(result) > 0 && worst == core::Verdict::safe ? core::Verdict::no_verdict
                                                                  : worst;
}

std::string rampup_text(const core::Rig& rig, const RampupResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::rampup);
  add_result(page, result);
  add_problems(page, result.findings);
  add_lamps(page, result);
  page.heading("HOW TO READ THE LADDERS");
  page.item("-", "One stage at a time. Between stages: plug out, wait, measure, hook (see bleed).");
  page.item("-", "Variac volts: the dial, set at nominal line. min, max: part tolerance and line.");
  page.item("-",
            "Go up only when every reading of the step is inside its band. STOP: plug out "
            "first, think afterwards; also when a reading still climbs after ten seconds, "
            "and at any smell, sound or smoke.");
  page.item("-", "--sheets, or --stage NAME, prints every node, stop limit and heat of each step.");
  std::size_t number = 0;
  for (const auto& passes : by_stage(result)) {
    page.heading(
        fmt::format("STAGE {}: {}", ++number, netlists::stage_words(passes.front()->stage)));
    add_stage_ladder(page, passes);
    add_regulator_table(page, *passes.back());
  }
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

std::string rampup_sheets_text(const core::Rig& rig, const RampupResult& result,
                               const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::rampup);
  add_result(page, result);
  add_problems(page, result.findings);
  add_lamps(page, result);
  page.heading("HOW TO READ THE SHEETS");
  page.item("-", "One sheet per stage. Between stages: plug out, wait, measure, hook (see bleed).");
  page.item("-", "Variac volts: the dial, set at nominal line. min-max: part tolerance and line.");
  page.item("-",
            "DC per mains volt: measure both, divide. The best single check: on every step "
            "the same within the band.");
  page.item("-", "Go up only when every reading of the step is inside its band.");
  for (std::size_t i = 0; i < result.passes.size(); ++i) {
    add_pass(page, result.passes[i], i + 1, result.passes.size());
  }
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
