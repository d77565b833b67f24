#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/terminal.hpp"
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
  ProgressLine progress;
  study.progress = progress.callback();
  WorkerPool pool(pool_options(command.answer));
  const LinesResult result = lines(rig, study, pool);
  return answer_of<LinesResult>(command.answer, rig, result,
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
  command->callback([options, &chosen] {
    chosen = [options] {
      return deliver(options->answer,
                     [&options](const core::Rig& rig) { return run(*options, rig); });
    };
  });
}

}  // namespace firstglow::sim
