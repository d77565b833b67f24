#include <algorithm>
#include <memory>

#include "netlists/deck_builder.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/course_report.hpp"

namespace firstglow::sim {
namespace {

struct CourseCommand {
  AnswerOptions answer;
  std::vector<std::string> steps;
  std::string stage;
  std::string lamp, lamp_volts;
  std::string dwell = "120s", turn = "3s", off = "300s", every = "60s";
};

double seconds(const std::string& option, const std::string& text) {
  return option_quantity(option, text, core::Dimension::seconds);
}

/// The last stage of the rig in which no tube draws.
netlists::Stage default_stage(const core::Rig& rig) {
  netlists::Stage found = netlists::Stage::transformer;
  for (const netlists::Stage stage : netlists::stages_of(rig)) {
    found = stage <= netlists::Stage::tubes_out ? std::max(found, stage) : found;
  }
  return found;
}

CourseOptions study_options(const CourseCommand& command, const core::Rig& rig) {
  CourseOptions study;
  study.steps_vrms = option_variac_steps("--steps", command.steps);
  for (const double step_vrms : study.steps_vrms) {
    static_cast<void>(dial_setting(rig, step_vrms));
  }
  study.stage = default_stage(rig);
  if (!command.stage.empty()) {
    study.stage = option_stage("--stage", command.stage);
    require_stage(rig, study.stage);
  }
  if (!command.lamp.empty()) {
    study.lamp = option_lamp(rig, command.lamp, command.lamp_volts);
  } else if (!command.lamp_volts.empty()) {
    throw UsageError("--lamp-volts says nothing without --lamp WATTS; give both");
  }
  study.dwell_s = seconds("--dwell", command.dwell);
  study.turn_s = seconds("--turn", command.turn);
  study.every_s = seconds("--every", command.every);
  study.off_s = command.off == "0" ? 0.0 : seconds("--off", command.off);
  if (study.dwell_s <= study.turn_s) {
    throw UsageError("--dwell must be longer than --turn: a step lasts longer than its turn");
  }
  return study;
}

Answer run(const CourseCommand& command, const core::Rig& rig) {
  return answer_study<CourseOptions, CourseResult>(
      command.answer, rig, study_options(command, rig),
      [&rig](const CourseOptions& options, WorkerPool& pool) { return course(rig, options, pool); },
      {course_verdict, course_text, course_json, course_csv});
}

}  // namespace

void add_course_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<CourseCommand>();
  CLI::App* command = app.add_subcommand(
      "course", "the whole ladder minute by minute, and how long to wait on each step");
  add_study_options(*command, options->answer);
  command
      ->add_option("--steps", options->steps,
                   "variac volts, rms, e.g. 10,30,60; default: a ladder up to the nominal line")
      ->delimiter(',');
  command->add_option("--stage", options->stage,
                      "bring-up stage: " + stage_list(all_stages()) +
                          "; default: the last one in which no tube draws");
  command->add_option("--lamp", options->lamp, "series lamp, e.g. 60W; default: none");
  command->add_option("--lamp-volts", options->lamp_volts,
                      "rated volts of that lamp, e.g. 130V; default: the nominal line");
  command->add_option("--dwell", options->dwell, "time on each step, its turn included")
      ->capture_default_str();
  command->add_option("--turn", options->turn, "time the dial takes from one step to the next")
      ->capture_default_str();
  command->add_option("--off", options->off, "time followed after the plug is out; 0: not at all")
      ->capture_default_str();
  command->add_option("--every", options->every, "time between readings")->capture_default_str();
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
