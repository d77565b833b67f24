#include "sim/app/answer.hpp"

#include "core/rig_reader.hpp"
#include "sim/app/exit_codes.hpp"
#include "sim/app/output_file.hpp"
#include "sim/app/terminal.hpp"
#include "sim/engine/cancel.hpp"

namespace firstglow::sim {
namespace {

/// Some hundred cycles: what one study asks again it asks soon.
constexpr std::size_t kRememberedBytes = std::size_t{16} << 20;

}  // namespace

void add_answer_options(CLI::App& command, AnswerOptions& options) {
  command.add_option("RIG", options.rig_file, "record file of the rig (docs/records.md)")
      ->required();
  command.add_flag("--json", options.json, "print JSON (docs/json.md) instead of text");
}

void add_study_options(CLI::App& command, AnswerOptions& options) {
  add_answer_options(command, options);
  command.add_option("--csv", options.csv_file, "also write the numbers behind it to this file");
  command
      .add_option("--workers", options.workers, "solver processes, 1 to 8; default one per core")
      ->check(CLI::Range(1, 8, "1-8"));
}

void add_angles_option(CLI::App& command, int& angles) {
  command.add_option("--angles", angles, "closing angles tried over a whole cycle, 4 to 72")
      ->check(CLI::Range(4, 72, "4-72"))
      ->capture_default_str();
}

PoolOptions pool_options(const AnswerOptions& options) {
  PoolOptions pool;
  pool.remembered_bytes = kRememberedBytes;
  pool.workers = options.workers;
  return pool;
}

TextStyle page_style() { return style_of_environment(); }

int deliver(const AnswerOptions& options, const std::function<Answer(const core::Rig&)>& make) {
  const core::Rig rig = core::read_rig_file(options.rig_file);
  std::optional<OutputFile> csv;
  if (!options.csv_file.empty()) {
    csv.emplace(options.csv_file, options.rig_file);
  }
  const Answer answer = make(rig);
  if (cancel_requested()) {
    throw Cancelled();
  }
  if (csv) {
    csv->commit(answer.csv);
  }
  write_standard_output(answer.page);
  return answer.verdict ? exit_code_of(*answer.verdict) : kNothingUnsafe;
}

}  // namespace firstglow::sim
