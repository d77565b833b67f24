#include "sim/report/sheet/step_gates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/sheet_blanks.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

/// The supply below the chassis, with the least ripple, of the last step of the tubes-out stage;
/// nullptr when there is none.
const NodeReading* bias_supply(const RampupResult& rampup) {
  const NodeReading* bias = nullptr;
  for (const RampPass& pass : rampup.passes) {
    if (pass.stage != Stage::tubes_out || pass.steps.empty()) {
      continue;
    }
    for (const NodeReading& node : pass.steps.back().nodes) {
      const bool below = node.main_dc && node.dc_v.high < 0.0;
      if (below && (bias == nullptr || node.ripple_vpp < bias->ripple_vpp)) {
        bias = &node;
      }
    }
  }
  return bias;
}

std::string bias_gate(const RampupResult& rampup) {
  const NodeReading* bias = bias_supply(rampup);
  if (bias == nullptr) {
    return "BIAS FIRST. No supply below the chassis was found in the record: find out what keeps "
           "each tube from drawing too much before it goes in.";
  }
  return fmt::format(
      "BIAS FIRST, tubes still out: {} was read at the sockets, {} to {} V DC at full line. "
      "No bias: no plate volts, no screen volts.",
      bias->node, significant(bias->dc_v.low), significant(bias->dc_v.high));
}

std::string highest_screen(const core::Rig& rig) {
  std::string names;
  for (const core::Part& part : rig.parts) {
    const auto* tube = std::get_if<core::PowerTube>(&part.data);
    if (tube != nullptr && tube->screen != core::kOpenNode) {
      names += (names.empty() ? " (" : ", ") + part.designator;
    }
  }
  return names.empty() ? "" : names + ")";
}

}  // namespace

std::vector<Tick> stage_gates(const core::Rig& rig, const RampupResult& rampup,
                              const RampPass& pass) {
  std::vector<Tick> gates;
  const auto add = [&](const char* name, const std::string& label) {
    std::vector<std::string> parts = pass_id(pass);
    parts.insert(parts.end(), {"gate", name});
    gates.push_back({blank_id(parts), label});
  };
  const bool first = &pass == &rampup.passes.front();
  add("second-person",
      "The watcher is here, sees and hears me, and has cut the power once as a drill.");
  add("before", first ? "The dead checks are done, every ohm inside its band."
                      : "The page before this one is signed, every reading inside its band.");
  add("clipped", "Meters clipped on with the plug out and everything discharged. Hook off last.");
  if (pass.stage >= Stage::heaters) {
    add("bias", bias_gate(rampup));
    add("screen", "NO SCREEN WITHOUT PLATE: the plate leads" + highest_screen(rig) +
                      " are on and were checked with an ohmmeter.");
    add("filament",
        "FILAMENTS FIRST: every heater within 5 % of its volts, read at the socket, "
        "before anything draws.");
  }
  if (pass.stage == Stage::key_down) {
    add("load",
        "The dummy load is on the antenna socket. The key lead was checked for high volts.");
  }
  return gates;
}

}  // namespace firstglow::sim
