#include "sim/app/command_values.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/nearest_word.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/app/usage_error.hpp"

namespace firstglow::sim {
namespace {

/// Highest dial setting of a Situation, over nominal line.
constexpr double kHighestDial = 1.2;

/// "60" -> "60 V": the one option whose unit can be left out.
std::string with_volts(const std::string& word) {
  const bool bare = !word.empty() && word.find_first_not_of("0123456789. ") == std::string::npos;
  return bare ? word + " V" : word;
}

}  // namespace

double option_quantity(const std::string& option, const std::string& text,
                       core::Dimension dimension) {
  const core::Written<double> written = core::read_quantity(text, dimension);
  if (!written.value) {
    throw UsageError(fmt::format("{}: {}", option, written.fault));
  }
  return *written.value;
}

std::vector<double> option_variac_steps(const std::string& option,
                                        const std::vector<std::string>& words) {
  std::vector<double> steps;
  steps.reserve(words.size());
  for (const std::string& word : words) {
    steps.push_back(option_quantity(option, with_volts(word), core::Dimension::volts));
  }
  return steps;
}

const std::vector<netlists::Stage>& all_stages() {
  using enum netlists::Stage;
  static const std::vector<netlists::Stage> kStages{transformer, rectifier, filter,  tubes_out,
                                                    heaters,     key_up,    key_down};
  return kStages;
}

std::string stage_list(const std::vector<netlists::Stage>& stages) {
  std::string text;
  for (const netlists::Stage stage : stages) {
    text += fmt::format("{}{}", text.empty() ? "" : ", ", netlists::stage_key(stage));
  }
  return text;
}

netlists::Stage option_stage(const std::string& option, const std::string& word) {
  std::string key = word;
  std::replace(key.begin(), key.end(), '-', '_');
  std::vector<std::string> known;
  for (const netlists::Stage stage : all_stages()) {
    if (key == netlists::stage_key(stage)) {
      return stage;
    }
    known.emplace_back(netlists::stage_key(stage));
  }
  const std::string near = core::nearest_word(key, known);
  throw UsageError(fmt::format("{}: '{}' is no stage{}; expected one of {}", option, word,
                               near.empty() ? "" : fmt::format(" (nearest: {})", near),
                               fmt::join(known, ", ")));
}

void require_stage(const core::Rig& rig, netlists::Stage stage) {
  const std::vector<netlists::Stage> stages = netlists::stages_of(rig);
  if (std::find(stages.begin(), stages.end(), stage) == stages.end()) {
    throw UsageError(fmt::format(
        "this rig has no stage {} of its own (nothing new is connected there); its stages are {}",
        netlists::stage_key(stage), stage_list(stages)));
  }
}

double dial_setting(const core::Rig& rig, double variac_vrms) {
  const double nominal_vrms = rig.mains().nominal.si();
  const double setting = variac_vrms / nominal_vrms;
  if (!(setting > 0.0 && setting <= kHighestDial)) {
    throw UsageError(fmt::format(
        "variac volts of {:.6g} V are out of reach: a variac on the {:.6g} V line of this rig is "
        "taken to give up to {:.6g} V; choose a lower value",
        variac_vrms, nominal_vrms, kHighestDial * nominal_vrms));
  }
  return setting;
}

netlists::LampInSeries option_lamp(const core::Rig& rig, const std::string& watts,
                                   const std::string& volts) {
  netlists::LampInSeries lamp;
  lamp.rated_watts = core::Watts(option_quantity("--lamp", watts, core::Dimension::watts));
  lamp.rated_volts =
      volts.empty()
          ? rig.mains().nominal
          : core::RmsVolts(option_quantity("--lamp-volts", volts, core::Dimension::volts));
  return lamp;
}

}  // namespace firstglow::sim
