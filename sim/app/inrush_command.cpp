#include <memory>

#include "sim/app/answer.hpp"
#include "sim/report/inrush_report.hpp"

namespace firstglow::sim {
namespace {

struct InrushCommand {
  AnswerOptions answer;
  InrushOptions study;
};

Answer run(const InrushCommand& command, const core::Rig& rig) {
  return answer_study<InrushOptions, InrushResult>(
      command.answer, rig, command.study,
      [&rig](const InrushOptions& study, WorkerPool& pool) { return inrush(rig, study, pool); },
      {inrush_verdict, inrush_text, inrush_json, inrush_csv});
}

}  // namespace

void add_inrush_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<InrushCommand>();
  CLI::App* command = app.add_subcommand("inrush", "mains current at switch-on by closing angle");
  add_study_options(*command, options->answer);
  add_angles_option(*command, options->study.closing_angles);
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
