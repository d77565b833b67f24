#pragma once
/// @file
/// What do all commands that answer about a rig share: options, delivery, exit code?

#include <CLI/CLI.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/app/commands.hpp"
#include "sim/app/terminal.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct AnswerOptions {
  std::string rig_file;
  bool json = false;
  std::string csv_file;
  int workers = 0;  ///< 0: one per core
};

/// RIG and --json.
void add_answer_options(CLI::App& command, AnswerOptions& options);
/// --csv and --workers too.
void add_study_options(CLI::App& command, AnswerOptions& options);

/// What a command found, in the form that was asked for.
struct Answer {
  std::string page;                      ///< text or JSON
  std::string csv;                       ///< empty when not asked for
  std::optional<core::Verdict> verdict;  ///< empty: this command judges nothing
};

/// Reads the rig, makes the answer, and writes it only when it is whole.
/// @returns the exit code of the verdict
/// @throws InputError, UsageError, Cancelled, and what `make` throws
int deliver(const AnswerOptions& options, const std::function<Answer(const core::Rig&)>& make);

/// The functions of one study, told once for all commands that run in workers.
template <class Result>
struct StudyReport {
  core::Verdict (*verdict)(const Result&);
  std::string (*text)(const core::Rig&, const Result&, const TextStyle&);
  std::string (*json)(const core::Rig&, const Result&);
  std::string (*csv)(const Result&);
};

[[nodiscard]] PoolOptions pool_options(const AnswerOptions& options);
[[nodiscard]] TextStyle page_style();

template <class Result>
Answer answer_of(const AnswerOptions& options, const core::Rig& rig, const Result& result,
                 const StudyReport<Result>& report) {
  Answer answer;
  answer.verdict = report.verdict(result);
  answer.page = options.json ? report.json(rig, result) : report.text(rig, result, page_style());
  if (!options.csv_file.empty()) {
    answer.csv = report.csv(result);
  }
  return answer;
}

/// Runs a study in a pool of workers with a progress line, and says its result.
template <class StudyOptions, class Result>
Answer answer_study(const AnswerOptions& options, const core::Rig& rig, StudyOptions study,
                    const std::function<Result(const StudyOptions&, WorkerPool&)>& run,
                    const StudyReport<Result>& report) {
  ProgressLine progress;
  study.progress = progress.callback();
  WorkerPool pool(pool_options(options));
  return answer_of<Result>(options, rig, run(study, pool), report);
}

/// --angles, the closing angles a study tries.
void add_angles_option(CLI::App& command, int& angles);

/// When the command is chosen it delivers what `run` answers.
template <class Options>
void choose_answer(CLI::App& command, ChosenCommand& chosen, std::shared_ptr<Options> options,
                   Answer (*run)(const Options&, const core::Rig&)) {
  command.callback([options, run, &chosen] {
    chosen = [options, run] {
      return deliver(options->answer,
                     [&options, run](const core::Rig& rig) { return run(*options, rig); });
    };
  });
}

}  // namespace firstglow::sim
