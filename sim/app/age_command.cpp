#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/part_choice.hpp"
#include "sim/report/age_report.hpp"

namespace firstglow::sim {
namespace {

struct AgeCommand {
  AnswerOptions answer;
  std::string air = "40 C";
};

Answer run(const AgeCommand& command, const core::Rig& rig) {
  AgeOptions study;
  study.air_k = option_celsius("--air", command.air);
  return answer_study<AgeOptions, AgeResult>(
      command.answer, rig, study,
      [&rig](const AgeOptions& options, WorkerPool& pool) { return age(rig, options, pool); },
      {age_verdict, age_text, age_json, age_csv});
}

}  // namespace

void add_age_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<AgeCommand>();
  CLI::App* command =
      app.add_subcommand("age", "electrolytics: hours of life, heat, and what shelf years ask for");
  add_study_options(*command, options->answer);
  command->add_option("--air", options->air, "air around the cans, in the cabinet")
      ->capture_default_str();
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
