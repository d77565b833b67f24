#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/terminal.hpp"
#include "sim/report/inrush_report.hpp"

namespace firstglow::sim {
namespace {

struct InrushCommand {
  AnswerOptions answer;
  InrushOptions study;
};

Answer run(const InrushCommand& command, const core::Rig& rig) {
  InrushOptions study = command.study;
  ProgressLine progress;
  study.progress = progress.callback();
  WorkerPool pool(pool_options(command.answer));
  const InrushResult result = inrush(rig, study, pool);
  return answer_of<InrushResult>(command.answer, rig, result,
                                 {inrush_verdict, inrush_text, inrush_json, inrush_csv});
}

}  // namespace

void add_inrush_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<InrushCommand>();
  CLI::App* command = app.add_subcommand("inrush", "mains current at switch-on by closing angle");
  add_study_options(*command, options->answer);
  command
      ->add_option("--angles", options->study.closing_angles,
                   "closing angles tried over a whole cycle, 4 to 72; default 24")
      ->check(CLI::Range(4, 72, "4-72"));
  command->callback([options, &chosen] {
    chosen = [options] {
      return deliver(options->answer,
                     [&options](const core::Rig& rig) { return run(*options, rig); });
    };
  });
}

}  // namespace firstglow::sim
