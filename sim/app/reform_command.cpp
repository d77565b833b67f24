#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/part_choice.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/reform_report.hpp"

namespace firstglow::sim {
namespace {

struct ReformCommand {
  AnswerOptions answer;
  std::string part, log_file, limit = "period", ceiling, series, lamp, lamp_volts, air = "25 C";
  std::string accuracy = "3 %";
  std::vector<std::string> steps;
  bool in_set = false;
};

Answer run_log(const ReformCommand& command, const core::Rig& rig) {
  if (command.part.empty()) {
    throw UsageError("--log needs a PART: which capacitor was read?");
  }
  FormingFacts facts;
  facts.accuracy = option_percent("--accuracy", command.accuracy);
  if (!command.series.empty()) {
    facts.series_ohm = option_quantity("--series", command.series, core::Dimension::ohms);
  }
  if (!command.ceiling.empty()) {
    facts.ceiling_a = option_quantity("--ceiling", command.ceiling, core::Dimension::amps);
  }
  const ReformLogResult result =
      judge_log(rig, command.part, command.log_file, option_leakage_rule(command.limit), facts);
  return answer_of<ReformLogResult>(
      command.answer, rig, result,
      {reform_log_verdict, reform_log_text, reform_log_json, reform_log_csv});
}

ReformOptions options_of(const ReformCommand& command, const core::Rig& rig) {
  ReformOptions options;
  options.part = command.part;
  options.in_set = command.in_set;
  options.rule = &option_leakage_rule(command.limit);
  options.air_k = option_celsius("--air", command.air);
  options.steps_v = option_variac_steps("--steps", command.steps);
  if (!command.ceiling.empty()) {
    options.ceiling_a = option_quantity("--ceiling", command.ceiling, core::Dimension::amps);
  }
  if (!command.series.empty()) {
    options.series_ohm = option_quantity("--series", command.series, core::Dimension::ohms);
  }
  if (!command.lamp.empty()) {
    options.lamp = option_lamp(rig, command.lamp, command.lamp_volts);
  }
  if (options.in_set && (options.series_ohm || !options.steps_v.empty())) {
    throw UsageError("--series and --steps belong to the bench, not to --in-set");
  }
  if (!options.in_set && options.lamp) {
    throw UsageError("--lamp belongs to --in-set: on the bench the resistor limits");
  }
  return options;
}

Answer run(const ReformCommand& command, const core::Rig& rig) {
  if (!command.part.empty()) {
    require_electrolytic(rig, command.part);
  }
  if (!command.log_file.empty()) {
    return run_log(command, rig);
  }
  ReformOptions options = options_of(command, rig);
  ReformResult result;
  if (options.in_set) {
    ProgressLine progress;
    options.progress = progress.callback();
    WorkerPool pool(pool_options(command.answer));
    result = reform_in_set(rig, options, pool);
  } else {
    result = reform_on_bench(rig, options);
  }
  Answer answer;  // a plan judges nothing
  answer.page =
      command.answer.json ? reform_json(rig, result) : reform_text(rig, result, page_style());
  answer.csv = command.answer.csv_file.empty() ? "" : reform_csv(result);
  return answer;
}

}  // namespace

void add_reform_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<ReformCommand>();
  CLI::App* command =
      app.add_subcommand("reform", "bring old electrolytics back: programme, and what a log says");
  add_study_options(*command, options->answer);
  command->add_option("PART", options->part, "one electrolytic; default: all of them");
  command->add_option("--log", options->log_file,
                      "readings, CSV (docs/forming_log.md): forming, stuck or stop now?");
  command->add_flag("--in-set", options->in_set,
                    "in the rig behind the variac instead of on the bench");
  command->add_option("--ceiling", options->ceiling, "largest current, e.g. 2mA; default 5 mA");
  command->add_option("--series", options->series,
                      "resistor ahead of the can, e.g. 47k; default: for the ceiling");
  command
      ->add_option("--steps", options->steps, "bench: supply volts of the steps, e.g. 100,200,450")
      ->delimiter(',');
  command->add_option("--limit", options->limit, "leakage limit: period, 0.01cv, 0.03cv or power")
      ->capture_default_str();
  command->add_option("--lamp", options->lamp, "in the set: lamp in series with the mains");
  command->add_option("--lamp-volts", options->lamp_volts, "its rated volts; default: the line");
  command->add_option("--air", options->air, "air around the can")->capture_default_str();
  command
      ->add_option("--accuracy", options->accuracy, "of one reading of the log, standard deviation")
      ->capture_default_str();
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
