#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "netlists/deck_builder.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/readings_report.hpp"

namespace firstglow::sim {
namespace {

struct ReadingsCommand {
  AnswerOptions answer;
  std::string readings_file;
};

/// The ladder of the sheet, as far as this rig can go it.
RampupOptions ladder_of(const core::Rig& rig, const SheetFacts& sheet, const std::string& file) {
  RampupOptions study;
  study.steps_vrms = sheet.steps_vrms;
  for (const std::string& key : sheet.stages) {
    study.stages.push_back(option_stage("stages of the sheet", key));
  }
  if (sheet.lamp_w && sheet.lamp_vrms) {
    study.lamp =
        netlists::LampInSeries{core::Watts(*sheet.lamp_w), core::RmsVolts(*sheet.lamp_vrms)};
  }
  study.without_lamp = sheet.without_lamp;
  for (const double step_vrms : study.steps_vrms) {
    try {
      static_cast<void>(dial_setting(rig, step_vrms));
    } catch (const UsageError& error) {
      throw core::InputError(file, {{{}, fmt::format("steps of the sheet: {}", error.what())}});
    }
  }
  return study;
}

/// Only the stages of the ladder that somebody has written readings of.
void leave_out_unread(const core::Rig& rig, const ReadingsFile& file, RampupOptions& study) {
  const std::vector<netlists::Stage> all =
      study.stages.empty() ? netlists::stages_of(rig) : study.stages;
  const std::vector<netlists::Stage> of_rig = netlists::stages_of(rig);
  study.stages.clear();
  for (const netlists::Stage stage : all) {
    std::string prefix = fmt::format("{}/", netlists::stage_key(stage));
    std::replace(prefix.begin(), prefix.end(), '_', '-');
    const bool read =
        std::any_of(file.entries.begin(), file.entries.end(), [&prefix](const WrittenEntry& entry) {
          return entry.kind == EntryKind::reading && entry.id.starts_with(prefix);
        });
    if (read && std::find(of_rig.begin(), of_rig.end(), stage) != of_rig.end()) {
      study.stages.push_back(stage);
    }
  }
}

Answer run(const ReadingsCommand& command, const core::Rig& rig) {
  const ReadingsFile file = read_readings_file(command.readings_file);
  RampupOptions study =
      file.sheet ? ladder_of(rig, *file.sheet, command.readings_file) : RampupOptions{};
  const SheetFacts now = sheet_facts(rig, study, file.sheet ? file.sheet->date : "");
  leave_out_unread(rig, file, study);
  Predicted predicted{dead_blanks(rig), {}};
  if (!study.stages.empty()) {
    ProgressLine progress;
    study.progress = progress.callback();
    WorkerPool pool(pool_options(command.answer));
    predicted.rampup = rampup(rig, study, pool);
  }
  const ReadingsResult result = judge_readings(file, now, predicted);
  Answer answer;
  answer.verdict = readings_verdict(result);
  answer.page =
      command.answer.json ? readings_json(rig, result) : readings_text(rig, result, page_style());
  return answer;
}

}  // namespace

void add_readings_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<ReadingsCommand>();
  CLI::App* command =
      app.add_subcommand("readings", "judge a filled-in sheet by the record as it is now");
  add_answer_options(*command, options->answer);
  command
      ->add_option("FILE", options->readings_file,
                   "JSON or CSV that the sheet exported (docs/readings.md)")
      ->required();
  command
      ->add_option("--workers", options->answer.workers,
                   "solver processes, 1 to 8; default one per core")
      ->check(CLI::Range(1, 8, "1-8"));
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
