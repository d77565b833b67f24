#include <memory>

#include "sim/app/answer.hpp"
#include "sim/report/margins_report.hpp"

namespace firstglow::sim {
namespace {

struct MarginsCommand {
  AnswerOptions answer;
  MarginsOptions study;
};

Answer run(const MarginsCommand& command, const core::Rig& rig) {
  return answer_study<MarginsOptions, MarginsResult>(
      command.answer, rig, command.study,
      [&rig](const MarginsOptions& study, WorkerPool& pool) { return margins(rig, study, pool); },
      {margins_verdict, margins_text, margins_json, margins_csv});
}

}  // namespace

void add_margins_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<MarginsCommand>();
  CLI::App* command = app.add_subcommand("margins", "each rated part: worst stress, when, margin");
  add_study_options(*command, options->answer);
  add_angles_option(*command, options->study.closing_angles);
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
