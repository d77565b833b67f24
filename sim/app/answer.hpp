#pragma once
/// @file
/// What do all commands that answer about a rig share: options, delivery, exit code?

#include <CLI/CLI.hpp>
#include <functional>
#include <optional>
#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/app/commands.hpp"
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

}  // namespace firstglow::sim
