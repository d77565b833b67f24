#include <algorithm>
#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/rampup_report.hpp"

namespace firstglow::sim {
namespace {

struct RampupCommand {
  AnswerOptions answer;
  std::vector<std::string> steps, stages;
  std::string lamp, lamp_volts;
  bool lamp_only = false;
  bool sheets = false;
};

constexpr const char* kNoLamp = "none";

RampupOptions study_options(const RampupCommand& command, const core::Rig& rig) {
  RampupOptions study;
  study.steps_vrms = option_variac_steps("--steps", command.steps);
  for (const double step_vrms : study.steps_vrms) {
    static_cast<void>(dial_setting(rig, step_vrms));
  }
  for (const std::string& word : command.stages) {
    const netlists::Stage stage = option_stage("--stage", word);
    require_stage(rig, stage);
    if (std::find(study.stages.begin(), study.stages.end(), stage) == study.stages.end()) {
      study.stages.push_back(stage);
    }
  }
  std::sort(study.stages.begin(), study.stages.end());
  const bool without = command.lamp == kNoLamp;
  if (without && command.lamp_only) {
    throw UsageError("--lamp none and --lamp-only leave nothing to answer; drop one of them");
  }
  if ((without || command.lamp.empty()) && !command.lamp_volts.empty()) {
    throw UsageError("--lamp-volts says nothing without --lamp WATTS; give both");
  }
  if (!without && !command.lamp.empty()) {
    study.lamp = option_lamp(rig, command.lamp, command.lamp_volts);
  }
  study.without_lamp = !command.lamp_only;
  return study;
}

Answer run(const RampupCommand& command, const core::Rig& rig) {
  const bool everything = command.sheets || !command.stages.empty();
  return answer_study<RampupOptions, RampupResult>(
      command.answer, rig, study_options(command, rig),
      [&](const RampupOptions& study, WorkerPool& pool) {
        RampupResult result = rampup(rig, study, pool);
        if (command.lamp == kNoLamp) {
          std::erase_if(result.passes, [](const RampPass& pass) { return pass.with_lamp; });
        }
        return result;
      },
      {rampup_verdict, everything ? rampup_sheets_text : rampup_text, rampup_json, rampup_csv});
}

}  // namespace

void add_rampup_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<RampupCommand>();
  CLI::App* command =
      app.add_subcommand("rampup", "meter readings on each variac step of each stage");
  add_study_options(*command, options->answer);
  command
      ->add_option("--steps", options->steps,
                   "variac volts, rms, e.g. 10,30,60; default: a ladder up to the nominal line")
      ->delimiter(',');
  command
      ->add_option("--stage", options->stages,
                   "only this stage (may be given again): " + stage_list(all_stages()))
      ->delimiter(',');
  command->add_option("--lamp", options->lamp,
                      "series lamp, e.g. 60W, or none; default: one is worked out");
  command->add_option("--lamp-volts", options->lamp_volts,
                      "rated volts of that lamp, e.g. 130V; default: the nominal line");
  command->add_flag("--lamp-only", options->lamp_only, "leave out the pass without lamp");
  command->add_flag(
      "--sheets", options->sheets,
      "one sheet per stage with every node, stop limit and heat; so too with --stage");
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
