#include <array>
#include <charconv>
#include <memory>

#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/bleed_report.hpp"

namespace firstglow::sim {
namespace {

struct BleedCommand {
  AnswerOptions answer;
  std::string limit, within, drift, shorted, charged;
  std::vector<std::string> absorption;
};

/// "0.25J", "45 uC": joules and coulombs are written nowhere else. Empty when it is neither.
std::optional<BleedLimit> energy_or_charge(const std::string& text) {
  double value = 0.0;
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  std::string unit(read.ptr, end);
  unit.erase(0, unit.find_first_not_of(' '));
  if (read.ec != std::errc() || !(value > 0.0) || value > 1e9) {
    return std::nullopt;
  }
  struct Unit {
    const char* name;
    double si;
    BleedLimit (*make)(double);
  };
  constexpr std::array<Unit, 5> kUnits{{{"J", 1.0, energy_limit},
                                        {"mJ", 1e-3, energy_limit},
                                        {"C", 1.0, charge_limit},
                                        {"mC", 1e-3, charge_limit},
                                        {"uC", 1e-6, charge_limit}}};
  for (const Unit& known : kUnits) {
    if (unit == known.name) {
      return known.make(value * known.si);
    }
  }
  return std::nullopt;
}

BleedLimit option_limit(const std::string& text) {
  if (const auto named = named_limit(text)) {
    return *named;
  }
  if (const auto other = energy_or_charge(text)) {
    return *other;
  }
  try {
    const double volts = option_quantity("--limit", text, core::Dimension::volts);
    if (volts > 0.0) {
      return volts_limit(volts);
    }
  } catch (const UsageError&) {
    // said below with all that would do
  }
  throw UsageError("--limit: '" + text + "' is no limit; write volts, joules or coulombs above 0 " +
                   "with their unit (30V, 0.25J, 45uC) or one of " + limit_names());
}

/// "20%" or "20 %" -> 0.20
double option_percent(const std::string& option, const std::string& text, double most) {
  double value = -1.0;
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  std::string rest(read.ptr, end);
  rest.erase(0, rest.find_first_not_of(' '));
  if (read.ec != std::errc() || rest != "%" || !(value >= 0.0 && value <= 100.0 * most)) {
    throw UsageError(option + ": '" + text + "' is found; expected a percentage such as 20%");
  }
  return value / 100.0;
}

core::Seconds option_seconds(const std::string& option, const std::string& text) {
  const double seconds = option_quantity(option, text, core::Dimension::seconds);
  if (!(seconds > 0.0)) {
    throw UsageError(option + ": a time above 0 s is expected");
  }
  return core::Seconds(seconds);
}

/// "C1=12%"
void add_absorption(const core::Rig& rig, const std::string& text, BleedOptions& study) {
  const auto mark = text.find('=');
  const std::string name = text.substr(0, mark);
  const core::Part* part = rig.find(name);
  if (mark == std::string::npos || part == nullptr ||
      !std::holds_alternative<core::Capacitor>(part->data)) {
    throw UsageError("--absorption: '" + text + "' is found; expected CAPACITOR=PERCENT, C1=12%");
  }
  const double share = option_percent("--absorption", text.substr(mark + 1), 0.49);
  if (share <= 0.0) {
    throw UsageError("--absorption: a share above 0 % is expected");
  }
  study.rebound.share[name] = share;
}

Answer run(const BleedCommand& command, const core::Rig& rig) {
  BleedOptions study;
  if (!command.limit.empty()) {
    study.limit = option_limit(command.limit);
  }
  if (!command.within.empty()) {
    study.within = option_seconds("--within", command.within);
  }
  if (!command.drift.empty()) {
    study.drift = option_percent("--drift", command.drift, 10.0);
  }
  if (!command.shorted.empty()) {
    study.rebound.shorted = option_seconds("--short", command.shorted);
  }
  if (!command.charged.empty()) {
    study.rebound.charge = option_seconds("--charged", command.charged);
  }
  for (const std::string& text : command.absorption) {
    add_absorption(rig, text, study);
  }
  return answer_study<BleedOptions, BleedResult>(
      command.answer, rig, study,
      [&rig](const BleedOptions& options, WorkerPool& pool) { return bleed(rig, options, pool); },
      {bleed_verdict, bleed_text, bleed_json, bleed_csv});
}

}  // namespace

void add_bleed_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<BleedCommand>();
  CLI::App* command =
      app.add_subcommand("bleed", "how long capacitors stay charged, paths open too");
  add_study_options(*command, options->answer);
  command->add_option("--limit", options->limit,
                      "30V, 0.25J, 45uC, or by name: " + limit_names() + "; default 50V");
  command->add_option("--within", options->within,
                      "time allowed, e.g. 60s; default: that of the limit");
  command->add_option("--drift", options->drift,
                      "how far carbon resistors stand above their tolerance; default 20%");
  command->add_option("--short", options->shorted,
                      "how long the empty capacitor is shorted, for the rebound; default 2s");
  command->add_option("--charged", options->charged,
                      "how long it stood under volts before, for the rebound; default 28800s");
  command->add_option("--absorption", options->absorption,
                      "CAPACITOR=PERCENT, e.g. C1=12%; several may follow");
  choose_answer(*command, chosen, options, run);
}

}  // namespace firstglow::sim
