#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/part_choice.hpp"
#include "sim/report/stacks_report.hpp"

namespace firstglow::sim {
namespace {

struct StacksCommand {
  AnswerOptions answer;
  std::string limit = "period";
};

Answer run(const StacksCommand& command, const core::Rig& rig) {
  StacksOptions study;
  study.rule = &option_leakage_rule(command.limit);
  return answer_study<StacksOptions, StacksResult>(
      command.answer, rig, study,
      [&rig](const StacksOptions& options, WorkerPool& pool) { return stacks(rig, options, pool); },
      {stacks_verdict, stacks_text, stacks_json, stacks_csv});
}

}  // namespace

void add_stacks_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<StacksCommand>();
  CLI::App* command =
      app.add_subcommand("stacks", "cans in series: who gets which volts, and the equaliser");
  add_study_options(*command, options->answer);
  command
      ->add_option("--limit", options->limit,
                   "leakage where the record has none: period, 0.01cv, 0.03cv or power")
      ->capture_default_str();
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
