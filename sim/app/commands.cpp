#include "sim/app/commands.hpp"

namespace firstglow::sim {

void add_commands(CLI::App& app, ChosenCommand& chosen) {
  add_new_command(app, chosen);
  add_check_command(app, chosen);
  add_rampup_command(app, chosen);
  add_course_command(app, chosen);
  add_sheet_command(app, chosen);
  add_readings_command(app, chosen);
  add_margins_command(app, chosen);
  add_bleed_command(app, chosen);
  add_spread_command(app, chosen);
  add_stick_command(app, chosen);
  add_inrush_command(app, chosen);
  add_swap_command(app, chosen);
  add_drawer_command(app, chosen);
  add_lines_command(app, chosen);
  add_reform_command(app, chosen);
  add_clock_command(app, chosen);
  add_stacks_command(app, chosen);
  add_age_command(app, chosen);
  add_netlist_command(app, chosen);
  add_schema_command(app, chosen);
}

}  // namespace firstglow::sim
