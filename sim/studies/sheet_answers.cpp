#include "sim/studies/sheet_answers.hpp"

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

template <class Result, class Run>
void answer(Answered<Result>& answered, const Run& run) {
  try {
    answered.result = run();
  } catch (const core::SimulationError& error) {
    answered.failure = error.what();
  }
}

template <class Options>
Options with_progress(const Progress& progress) {
  Options options;
  options.progress = progress;
  return options;
}

template <class Result>
void collect(const Answered<Result>& answered, std::vector<core::Finding>& findings) {
  if (answered.result) {
    findings.insert(findings.end(), answered.result->findings.begin(),
                    answered.result->findings.end());
  }
}

}  // namespace

SheetAnswers sheet_answers(const core::Rig& rig, const Progress& progress, WorkerPool& pool) {
  SheetAnswers answers;
  answers.check = check_rig(rig);
  answers.reform = reform_on_bench(rig, {});
  answer(answers.rampup, [&] { return rampup(rig, with_progress<RampupOptions>(progress), pool); });
  answer(answers.margins,
         [&] { return margins(rig, with_progress<MarginsOptions>(progress), pool); });
  answer(answers.bleed, [&] { return bleed(rig, with_progress<BleedOptions>(progress), pool); });
  if (answers.bleed.result) {
    answer(answers.stick, [&] { return stick(rig, StickOptions{}, *answers.bleed.result); });
  } else {
    answers.stick.failure = answers.bleed.failure;
  }
  answer(answers.inrush, [&] { return inrush(rig, with_progress<InrushOptions>(progress), pool); });
  answer(answers.stacks, [&] { return stacks(rig, with_progress<StacksOptions>(progress), pool); });
  answer(answers.scope, [&] { return scope(rig, pool); });
  return answers;
}

std::vector<core::Finding> sheet_findings(const SheetAnswers& answers) {
  std::vector<core::Finding> findings;
  collect(answers.rampup, findings);
  collect(answers.margins, findings);
  collect(answers.bleed, findings);
  collect(answers.stick, findings);
  collect(answers.inrush, findings);
  collect(answers.stacks, findings);
  return findings;
}

}  // namespace firstglow::sim
