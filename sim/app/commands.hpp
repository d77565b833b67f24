#pragma once
/// @file
/// Which commands are there? One file each; every one adds itself to the command line.

#include <CLI/CLI.hpp>
#include <functional>

namespace firstglow::sim {

/// Set by the parser to what the chosen command does; gives the exit code.
using ChosenCommand = std::function<int()>;

void add_new_command(CLI::App& app, ChosenCommand& chosen);
void add_check_command(CLI::App& app, ChosenCommand& chosen);
void add_rampup_command(CLI::App& app, ChosenCommand& chosen);
void add_course_command(CLI::App& app, ChosenCommand& chosen);
void add_sheet_command(CLI::App& app, ChosenCommand& chosen);
void add_margins_command(CLI::App& app, ChosenCommand& chosen);
void add_bleed_command(CLI::App& app, ChosenCommand& chosen);
void add_inrush_command(CLI::App& app, ChosenCommand& chosen);
void add_swap_command(CLI::App& app, ChosenCommand& chosen);
void add_drawer_command(CLI::App& app, ChosenCommand& chosen);
void add_lines_command(CLI::App& app, ChosenCommand& chosen);
void add_spread_command(CLI::App& app, ChosenCommand& chosen);
void add_stick_command(CLI::App& app, ChosenCommand& chosen);
void add_reform_command(CLI::App& app, ChosenCommand& chosen);
void add_clock_command(CLI::App& app, ChosenCommand& chosen);
void add_stacks_command(CLI::App& app, ChosenCommand& chosen);
void add_age_command(CLI::App& app, ChosenCommand& chosen);
void add_readings_command(CLI::App& app, ChosenCommand& chosen);
void add_netlist_command(CLI::App& app, ChosenCommand& chosen);
void add_schema_command(CLI::App& app, ChosenCommand& chosen);

/// All of them, in the order of the work at the bench.
void add_commands(CLI::App& app, ChosenCommand& chosen);

}  // namespace firstglow::sim
