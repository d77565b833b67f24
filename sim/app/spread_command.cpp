#include <fmt/format.h>

#include <charconv>
#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/spread_file.hpp"
#include "sim/report/spread_report.hpp"

namespace firstglow::sim {
namespace {

struct SpreadCommand {
  AnswerOptions answer;
  int draws = 1000;
  std::uint64_t seed = 1;
  double drift_percent = 20.0;
  std::string shard;
  std::vector<std::string> merge;
};

/// "2/8" is the second of eight.
void read_shard(const std::string& word, SpreadOptions& study) {
  const std::size_t slash = word.find('/');
  const auto whole = [&](const std::string& text, int& value) {
    const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
    return result.ec == std::errc{} && result.ptr == text.data() + text.size();
  };
  if (slash == std::string::npos || !whole(word.substr(0, slash), study.shard) ||
      !whole(word.substr(slash + 1), study.shards) || study.shard < 1 ||
      study.shard > study.shards) {
    throw UsageError(
        fmt::format("--shard: '{}' is no shard; expected two numbers such as 1/4", word));
  }
}

Answer run(const SpreadCommand& command, const core::Rig& rig) {
  SpreadOptions study;
  study.draws = command.draws;
  study.seed = command.seed;
  study.drift = command.drift_percent / 100.0;
  const StudyReport<SpreadResult> report{spread_verdict, spread_text, spread_json, spread_csv};
  if (!command.merge.empty()) {
    std::vector<SpreadTable> shards;
    for (const std::string& file : command.merge) {
      shards.push_back(read_spread_file(file));
    }
    SpreadTable whole = merged_spread(shards, command.merge);
    if (whole.rig != rig_fingerprint(rig, study.drift)) {
      throw UsageError(
          "--merge: these draws were made from another record, or with another --drift");
    }
    return answer_of(command.answer, rig, spread_result(rig, std::move(whole), study.drift),
                     report);
  }
  if (!command.shard.empty()) {
    read_shard(command.shard, study);
  }
  ProgressLine progress;
  study.progress = progress.callback();
  WorkerPool pool(pool_options(command.answer));
  SpreadTable table = spread_draws(rig, study, pool);
  if (!command.shard.empty()) {
    Answer answer;  // numbers for --merge, no page and no verdict
    answer.page = spread_file_text(table);
    answer.csv = command.answer.csv_file.empty() ? std::string() : answer.page;
    return answer;
  }
  return answer_of(command.answer, rig, spread_result(rig, std::move(table), study.drift), report);
}

}  // namespace

void add_spread_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<SpreadCommand>();
  CLI::App* command = app.add_subcommand(
      "spread", "how readings scatter over many rigs built to the same record, and why");
  add_study_options(*command, options->answer);
  command->add_option("--draws", options->draws, "rigs drawn")
      ->check(CLI::Range(1, kMostDraws))
      ->capture_default_str();
  command->add_option("--seed", options->seed, "the same seed gives the same rigs")
      ->capture_default_str();
  command->add_option("--drift", options->drift_percent, "carbon resistors above tolerance, %")
      ->check(CLI::Range(0.0, 1000.0))
      ->capture_default_str();
  CLI::Option* shard = command->add_option(
      "--shard", options->shard, "only the I-th of N parts of the work, as I/N; prints its draws");
  command->add_option("--merge", options->merge, "files that shards have written")->excludes(shard);
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
