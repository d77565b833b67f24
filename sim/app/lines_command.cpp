#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/report/lines_report.hpp"

namespace firstglow::sim {
namespace {

struct LinesCommand {
  AnswerOptions answer;
  std::vector<std::string> volts;
};

Answer run(const LinesCommand& command, const core::Rig& rig) {
  LinesOptions study;
  study.line_vrms = option_variac_steps("--volts", command.volts);
  return answer_study<LinesOptions, LinesResult>(
      command.answer, rig, study,
      [&rig](const LinesOptions& options, WorkerPool& pool) { return lines(rig, options, pool); },
      {lines_verdict, lines_text, lines_json, lines_csv});
}

}  // namespace

void add_lines_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<LinesCommand>();
  CLI::App* command =
      app.add_subcommand("lines", "what each line voltage does, and the bucking winding for it");
  add_study_options(*command, options->answer);
  command
      ->add_option("--volts", options->volts,
                   "line volts, rms, e.g. 110,125; default: the usual ones around the rig's own")
      ->delimiter(',');
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
