#include <algorithm>
#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/part_choice.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/clock_report.hpp"
#include "sim/studies/clock_match.hpp"

namespace firstglow::sim {
namespace {

struct ClockCommand {
  AnswerOptions answer;
  std::vector<std::string> readings;
  std::string node, part, meter = "10 Mohm", accuracy = "2 %", hand = "0.5 s";
};

/// "420V@10s"
ClockReading reading_of(const std::string& text) {
  const std::size_t at = text.find('@');
  if (at == std::string::npos) {
    throw UsageError("'" + text + "' is no reading; write volts@seconds, e.g. 420V@10s");
  }
  ClockReading reading;
  reading.volts = option_quantity("reading", text.substr(0, at), core::Dimension::volts);
  const std::string when = text.substr(at + 1);
  // The moment of switch-off itself is a time too.
  reading.time_s = when == "0s" || when == "0 s"
                       ? 0.0
                       : option_quantity("reading", when, core::Dimension::seconds);
  return reading;
}

std::vector<ClockReading> readings_of(const std::vector<std::string>& words) {
  std::vector<ClockReading> readings;
  readings.reserve(words.size());
  for (const std::string& word : words) {
    readings.push_back(reading_of(word));
  }
  std::sort(readings.begin(), readings.end(),
            [](const ClockReading& a, const ClockReading& b) { return a.time_s < b.time_s; });
  for (std::size_t k = 1; k < readings.size(); ++k) {
    if (readings[k].time_s <= readings[k - 1].time_s ||
        readings[k].volts >= readings[k - 1].volts) {
      throw UsageError("the readings must be of different times, and each later one lower");
    }
  }
  if (readings.size() == 1 && readings.front().time_s <= 0.0) {
    throw UsageError("one reading alone must be later than 0 s");
  }
  return readings;
}

Answer run(const ClockCommand& command, const core::Rig& rig) {
  ClockOptions study;
  study.readings = readings_of(command.readings);
  if (!command.node.empty() && !command.part.empty()) {
    throw UsageError("--node and --part exclude each other: where was the meter?");
  }
  if (!command.node.empty()) {
    require_node(rig, "--node", command.node);
    study.node = command.node;
  }
  if (!command.part.empty()) {
    require_capacitor(rig, "--part", command.part);
    study.part = command.part;
  }
  study.meter_ohm = command.meter == "none"
                        ? 0.0
                        : option_quantity("--meter", command.meter, core::Dimension::ohms);
  study.volts_share = option_percent("--accuracy", command.accuracy);
  study.hand_s = option_quantity("--hand", command.hand, core::Dimension::seconds);
  return answer_study<ClockOptions, ClockResult>(
      command.answer, rig, study,
      [&rig](const ClockOptions& options, WorkerPool& pool) {
        return clock_test(rig, options, pool);
      },
      {clock_verdict, clock_text, clock_json, clock_csv});
}

}  // namespace

void add_clock_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<ClockCommand>();
  CLI::App* command =
      app.add_subcommand("clock", "bleeder test by the clock: what do volts and seconds say?");
  add_study_options(*command, options->answer);
  command
      ->add_option("READING", options->readings,
                   "volts@seconds after switch-off, e.g. 420V@10s 50V@62s; two or more, or one")
      ->required();
  command->add_option("--node", options->node,
                      "read from here to the chassis; default: the node of most volts");
  command->add_option("--part", options->part, "read across this capacitor instead");
  command->add_option("--meter", options->meter, "ohms of the meter that stayed on, or none")
      ->capture_default_str();
  command->add_option("--accuracy", options->accuracy, "of a reading, standard deviation")
      ->capture_default_str();
  command->add_option("--hand", options->hand, "of the stop watch, standard deviation")
      ->capture_default_str();
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
