#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/stick_report.hpp"

namespace firstglow::sim {
namespace {

struct StickCommand {
  AnswerOptions answer;
  std::string ohms, watts, limit, within;
};

double positive(const std::string& option, const std::string& text, core::Dimension dimension) {
  const double value = option_quantity(option, text, dimension);
  if (!(value > 0.0)) {
    throw UsageError(option + ": a value above 0 is expected");
  }
  return value;
}

Answer run(const StickCommand& command, const core::Rig& rig) {
  StickOptions study;
  if (!command.ohms.empty()) {
    study.ohms = core::Ohms(positive("--stick", command.ohms, core::Dimension::ohms));
  }
  if (!command.watts.empty()) {
    study.watts = core::Watts(positive("--watts", command.watts, core::Dimension::watts));
  }
  if (!command.limit.empty()) {
    study.limit = volts_limit(positive("--limit", command.limit, core::Dimension::volts));
  }
  if (!command.within.empty()) {
    study.within = core::Seconds(positive("--within", command.within, core::Dimension::seconds));
  }
  return answer_study<StickOptions, StickResult>(
      command.answer, rig, study,
      [&rig](const StickOptions& options, WorkerPool& pool) { return stick(rig, options, pool); },
      {stick_verdict, stick_text, stick_json, stick_csv});
}

}  // namespace

void add_stick_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<StickCommand>();
  CLI::App* command =
      app.add_subcommand("stick", "the discharge stick for this rig, and what a bare short does");
  add_study_options(*command, options->answer);
  command->add_option("--stick", options->ohms, "ohms of a stick at hand; default: worked out");
  command->add_option("--watts", options->watts, "its rating, e.g. 10W");
  command->add_option("--limit", options->limit, "volts to fall below; default 50V");
  command->add_option("--within", options->within, "how long to hold it at most; default 5s");
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
