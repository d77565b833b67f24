#include <memory>

#include "netlists/deck_builder.hpp"
#include "netlists/deck_export.hpp"
#include "sim/app/answer.hpp"
#include "sim/app/command_values.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/report/netlist_report.hpp"

namespace firstglow::sim {
namespace {

struct NetlistCommand {
  AnswerOptions answer;
  std::string stage = "key_down";
  std::string line, variac, lamp, lamp_volts;
  double angle_deg = 0.0;
  bool gear = false;
};

netlists::Situation situation_of(const NetlistCommand& command, const core::Rig& rig) {
  netlists::Situation situation;
  situation.stage = option_stage("--stage", command.stage);
  if (!command.line.empty()) {
    situation.line =
        core::RmsVolts(option_quantity("--line", command.line, core::Dimension::volts));
  }
  if (!command.variac.empty()) {
    situation.variac_setting =
        dial_setting(rig, option_quantity("--variac", command.variac, core::Dimension::volts));
  }
  if (!command.lamp.empty()) {
    situation.lamp = option_lamp(rig, command.lamp, command.lamp_volts);
  } else if (!command.lamp_volts.empty()) {
    throw UsageError("--lamp-volts says nothing without --lamp WATTS; give both");
  }
  situation.closing_angle_deg = command.angle_deg;
  situation.thermal = netlists::ThermalMode::moving;
  return situation;
}

Answer run(const NetlistCommand& command, const core::Rig& rig) {
  const netlists::Situation situation = situation_of(command, rig);
  const netlists::BuiltDeck built = netlists::build_deck(rig, situation);
  netlists::ExportOptions options;
  options.gear = command.gear;
  const std::string netlist = netlists::export_deck(rig, situation, built, options);
  return {command.answer.json ? netlist_json(rig, situation, netlist) : netlist, {}, std::nullopt};
}

}  // namespace

void add_netlist_command(CLI::App& app, ChosenCommand& chosen) {
  auto options = std::make_shared<NetlistCommand>();
  CLI::App* command = app.add_subcommand("netlist", "one circuit, to run in a stock SPICE");
  add_answer_options(*command, options->answer);
  command->add_option("--stage", options->stage,
                      "bring-up stage: " + stage_list(all_stages()) + "; default key_down");
  command->add_option("--line", options->line, "open-circuit line volts, e.g. 127V");
  command->add_option("--variac", options->variac,
                      "variac dial, volts at nominal line, e.g. 60V; default: full line");
  command->add_option("--lamp", options->lamp, "lamp in series, e.g. 60W; default: none");
  command->add_option("--lamp-volts", options->lamp_volts, "rated volts of that lamp");
  command
      ->add_option("--angle", options->angle_deg,
                   "closing angle in degrees, 0 to 360; 0: mains rising through zero")
      ->check(CLI::Range(0.0, 360.0, "0-360"));
  command->add_flag("--gear", options->gear, "Gear integration: slower, free of ringing");
  command->callback([options, &chosen] {
    chosen = [options] {
      return deliver(options->answer,
                     [&options](const core::Rig& rig) { return run(*options, rig); });
    };
  });
}

}  // namespace firstglow::sim
