#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/terminal.hpp"
#include "sim/report/margins_report.hpp"

namespace firstglow::sim {
namespace {

struct MarginsCommand {
  AnswerOptions answer;
  MarginsOptions study;
};

Answer run(const MarginsCommand& command, const core::Rig& rig) {
  MarginsOptions study = command.study;
  ProgressLine progress;
  study.progress = progress.callback();
  WorkerPool pool(pool_options(command.answer));
  const MarginsResult result = margins(rig, study, pool);
  return answer_of<MarginsResult>(command.answer, rig, result,
                                  {margins_verdict, margins_text, margins_json, margins_csv});
}

}  // namespace

void add_margins_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<MarginsCommand>();
  CLI::App* command = app.add_subcommand("margins", "each rated part: worst stress, when, margin");
  add_study_options(*command, options->answer);
  command
      ->add_option("--angles", options->study.closing_angles,
                   "closing angles tried over a whole cycle, 4 to 72; default 12")
      ->check(CLI::Range(4, 72, "4-72"));
  command->callback([options, &chosen] {
    chosen = [options] {
      return deliver(options->answer,
                     [&options](const core::Rig& rig) { return run(*options, rig); });
    };
  });
}

}  // namespace firstglow::sim
