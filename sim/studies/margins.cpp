#include "sim/studies/margins.hpp"

#include <algorithm>

#include "sim/studies/fuse_fault.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/situation_words.hpp"
#include "sim/studies/stress_limits.hpp"
#include "sim/studies/stress_survey.hpp"
#include "sim/studies/tube_limits.hpp"
#include "sim/studies/tube_rules.hpp"

namespace firstglow::sim {
namespace {

constexpr double kTraceSeconds = 0.3;

int rank_of(core::Verdict verdict) {
  switch (verdict) {
    case core::Verdict::unsafe:
      return 0;
    case core::Verdict::safe:
      return 1;
    case core::Verdict::no_verdict:
      break;
  }
  return 2;
}

/// Over the limit first, then by margin; what has no verdict last.
bool comes_before(const core::Finding& a, const core::Finding& b) {
  if (rank_of(a.verdict) != rank_of(b.verdict)) {
    return rank_of(a.verdict) < rank_of(b.verdict);
  }
  return a.margin().value_or(0.0) < b.margin().value_or(0.0);
}

core::Finding failed_run(const std::string& failure) {
  core::Finding finding;
  finding.rule = "simulation";
  finding.quantity = "run";
  finding.note = failure;
  finding.verdict = core::Verdict::no_verdict;
  return finding;
}

/// Every capacitor's volts at the worst cold switch-on, nominal parts.
std::vector<Trace> switch_on_traces(const core::Rig& rig, double angle_deg, WorkerPool& pool) {
  netlists::Situation situation;
  situation.stage = netlists::Stage::tubes_out;
  situation.line = rig.mains().high;
  situation.closing_angle_deg = angle_deg;
  situation.step_relay = netlists::StepRelay::timed;
  std::vector<Trace> traces;
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    TransientPlan plan;
    plan.stop_s = switch_on_seconds(rig, kTraceSeconds);
    const RigRun run = run_transient(engine, rig, situation, plan);
    for (std::size_t i = 0; i < rig.parts.size(); ++i) {
      const auto* capacitor = std::get_if<core::Capacitor>(&rig.parts[i].data);
      if (capacitor != nullptr && run.has_node(capacitor->plus) && run.has_node(capacitor->minus)) {
        traces.push_back(
            Trace{switch_on_words(rig, situation) + ": volts across " + rig.parts[i].designator,
                  "V", run.time_s(), run.volts_between(capacitor->plus, capacitor->minus)});
      }
    }
  });
  return traces;
}

}  // namespace

std::vector<core::Finding> judge_survey(const core::Rig& rig, const StressSurvey& survey) {
  std::vector<core::Finding> findings;
  for (const auto& [key, worst] : survey.worst) {
    if (auto finding = judge(rig, key, worst)) {
      findings.push_back(std::move(*finding));
    }
  }
  for (core::Finding& finding : tube_rule_findings(rig)) {
    findings.push_back(std::move(finding));
  }
  for (const std::string& failure : survey.failures) {
    findings.push_back(failed_run(failure));
  }
  std::stable_sort(findings.begin(), findings.end(), comes_before);
  return findings;
}

MarginsResult margins(const core::Rig& rig, const MarginsOptions& options, WorkerPool& pool) {
  const StressSurvey survey = survey_stresses(rig, options.closing_angles, options.progress, pool);
  MarginsResult result;
  result.findings = judge_survey(rig, survey);
  for (core::Finding& finding : fuse_fault_findings(rig, pool)) {
    result.findings.push_back(std::move(finding));
  }
  std::stable_sort(result.findings.begin(), result.findings.end(), comes_before);
  result.situations = survey.situations;
  result.assumptions = {
      "Linear transformer core: mains peaks at switch-on are those of `inrush`, not of this page.",
      "No leakage inductance: true rectifier peaks are somewhat lower.",
      "Mains spikes and surges from outside are not included.",
      "Tolerances: each part by itself, then all that raise a stress together.",
      "Within a rating speaks of the part, never of the person: measure before you touch.",
  };
  for (std::string& line : tube_assumptions(rig)) {
    result.assumptions.push_back(std::move(line));
  }
  try {
    result.traces = switch_on_traces(rig, survey.worst_angle_deg, pool);
  } catch (const core::SimulationError& error) {
    result.findings.push_back(failed_run(std::string("waveform for --csv: ") + error.what()));
  }
  return result;
}

}  // namespace firstglow::sim
