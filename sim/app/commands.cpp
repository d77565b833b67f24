#include "sim/app/commands.hpp"

namespace firstglow::sim {

void add_commands(CLI::App& app, ChosenCommand& chosen) {
#ifdef FIRSTGLOW_HAS_CHECK
  add_check_command(app, chosen);
#endif
#ifdef FIRSTGLOW_HAS_RAMPUP
  add_rampup_command(app, chosen);
#endif
#ifdef FIRSTGLOW_HAS_MARGINS
  add_margins_command(app, chosen);
#endif
#ifdef FIRSTGLOW_HAS_BLEED
  add_bleed_command(app, chosen);
#endif
#ifdef FIRSTGLOW_HAS_INRUSH
  add_inrush_command(app, chosen);
#endif
  add_netlist_command(app, chosen);
  add_schema_command(app, chosen);
}

}  // namespace firstglow::sim
