#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/report/bleed_report.hpp"

namespace firstglow::sim {
namespace {

struct BleedCommand {
  AnswerOptions answer;
  std::string limit;
};

Answer run(const BleedCommand& command, const core::Rig& rig) {
  BleedOptions study;
  if (!command.limit.empty()) {
    study.limit_v = option_quantity("--limit", command.limit, core::Dimension::volts);
  }
  return answer_study<BleedOptions, BleedResult>(
      command.answer, rig, study,
      [&rig](const BleedOptions& options, WorkerPool& pool) { return bleed(rig, options, pool); },
      {bleed_verdict, bleed_text, bleed_json, bleed_csv});
}

}  // namespace

void add_bleed_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<BleedCommand>();
  CLI::App* command =
      app.add_subcommand("bleed", "how long capacitors stay charged, paths open too");
  add_study_options(*command, options->answer);
  command->add_option("--limit", options->limit, "volts to fall below, e.g. 30V; default 50 V");
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
