#include <memory>

#include "core/record_change.hpp"
#include "core/rig_reader.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/swap_report.hpp"

namespace firstglow::sim {
namespace {

struct SwapCommand {
  AnswerOptions answer;
  std::vector<std::string> changes;
  int angles = 8;
};

/// The record with all changes, and what they did.
struct ChangedRecord {
  core::RecordNode record;
  std::vector<std::string> rectifiers;  ///< parts that named a type, as they are called now
  std::vector<std::string> notes;
};

ChangedRecord changed_record(const SwapCommand& command) {
  ChangedRecord changed;
  changed.record = core::read_record_file(command.answer.rig_file);
  for (const std::string& text : command.changes) {
    const auto change = core::parse_change(text);
    if (!change) {
      throw UsageError("'" + text +
                       "' is no change; write PART=TYPE, PART=NxTYPE, PART+PART=TYPE or "
                       "PART.KEY=VALUE");
    }
    const core::ChangeEffect effect =
        core::apply_change(changed.record, *change, command.answer.rig_file);
    changed.notes.insert(changed.notes.end(), effect.notes.begin(), effect.notes.end());
    if (change->key.empty()) {
      changed.rectifiers.insert(changed.rectifiers.end(), effect.parts.begin(), effect.parts.end());
    }
  }
  return changed;
}

Answer run(const SwapCommand& command, const core::Rig& before) {
  const ChangedRecord changed = changed_record(command);
  const std::string& file = command.answer.rig_file;
  const core::Rig after = core::read_rig_record(changed.record, file);
  SwapOptions study;
  study.closing_angles = command.angles;
  core::RecordNode trial = changed.record;
  if (!changed.rectifiers.empty() && core::add_series_resistor(trial, changed.rectifiers, 1.0)) {
    study.with_series = [&changed, &file](core::Ohms ohms) {
      core::RecordNode record = changed.record;
      static_cast<void>(core::add_series_resistor(record, changed.rectifiers, ohms.si()));
      return core::read_rig_record(record, file);
    };
  }
  return answer_study<SwapOptions, SwapResult>(
      command.answer, before, study,
      [&](const SwapOptions& options, WorkerPool& pool) {
        SwapResult result = swap(before, after, options, pool);
        result.assumptions.insert(result.assumptions.begin(), changed.notes.begin(),
                                  changed.notes.end());
        return result;
      },
      {swap_verdict, swap_text, swap_json, swap_csv});
}

}  // namespace

void add_swap_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<SwapCommand>();
  CLI::App* command = app.add_subcommand("swap", "the same rig with other parts: before and after");
  add_study_options(*command, options->answer);
  command
      ->add_option("CHANGE", options->changes,
                   "PART=TYPE, PART=NxTYPE, PART+PART=TYPE or PART.KEY=VALUE; several may follow")
      ->required();
  add_angles_option(*command, options->angles);
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
