#include "sim/studies/rampup_tubes.hpp"

#include <fmt/format.h>

#include "netlists/stage_parts.hpp"
#include "sim/studies/tube_rules.hpp"

namespace firstglow::sim {
namespace {

std::string time_words(core::Seconds time) {
  return time.si() >= 120.0 ? fmt::format("{:.0f} min", time.si() / 60.0)
                            : fmt::format("{:.0f} s", time.si());
}

std::string gas_gate(const core::Part& part, const core::GasRectifier& tube) {
  std::string words =
      fmt::format("{}: NO PLATE VOLTS before its filament has had its full ", part.designator);
  words += fmt::format("{:g} V for ", tube.heater.rated_volts.si());
  words += tube.heater.warm_up ? time_words(*tube.heater.warm_up) + ", at every start"
                               : "a time the record does not give: find it first (warm_up)";
  if (tube.first_use) {
    words += fmt::format("; before its first use, and after it was moved, {} of filament alone",
                         time_words(*tube.first_use));
  }
  return words + ".";
}

std::string vacuum_gate(const core::Part& part, const core::VacuumRectifier& tube) {
  const std::string after = tube.heater.warm_up
                                ? fmt::format("about {}", time_words(*tube.heater.warm_up))
                                : std::string("a time the record does not give");
  return fmt::format(
      "{}: conducts {} after its heater is lit. Below {:.0f} % of its heater volts it is taken not "
      "to conduct, above {:.0f} % to conduct fully; between them B+ may jump up at any moment.",
      part.designator, after, 100.0 * kColdShare, 100.0 * kHotShare);
}

}  // namespace

std::vector<std::string> rectifier_gates(const core::Rig& rig, netlists::Stage stage) {
  const std::vector<bool> in = netlists::stage_parts(rig, stage);
  std::vector<std::string> gates;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (!in[i]) {
      continue;
    }
    if (const auto* gas = std::get_if<core::GasRectifier>(&rig.parts[i].data)) {
      gates.push_back(gas_gate(rig.parts[i], *gas));
    } else if (const auto* tube = std::get_if<core::VacuumRectifier>(&rig.parts[i].data)) {
      gates.push_back(vacuum_gate(rig.parts[i], *tube));
    }
  }
  return gates;
}

std::string refused_ladder(const core::Rig& rig, netlists::Stage stage) {
  const std::vector<bool> in = netlists::stage_parts(rig, stage);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const std::string why = in[i] ? no_filament_first(rig, rig.parts[i]) : std::string();
    if (!why.empty()) {
      return fmt::format("REFUSED, filament first: {}: {}", rig.parts[i].designator, why);
    }
  }
  return {};
}

std::string refused_step(const core::Rig& rig, const std::vector<HeaterState>& heaters) {
  for (const HeaterState& state : heaters) {
    const core::Part* part = rig.find(state.part);
    const bool gas = part != nullptr && std::holds_alternative<core::GasRectifier>(part->data);
    if (gas && state.share < kGasFilamentShare) {
      return fmt::format(
          "REFUSED, filament first: {} has {:.3g} V rms on its filament, {:.0f} % of rated, with "
          "plate volts on",
          state.part, state.heater_vrms, 100.0 * state.share);
    }
  }
  return {};
}

std::vector<core::Finding> filament_first_findings(const core::Rig& rig) {
  std::vector<core::Finding> findings;
  for (const core::Part& part : rig.parts) {
    const std::string why = no_filament_first(rig, part);
    if (why.empty()) {
      continue;
    }
    core::Finding finding;
    finding.rule = "filament-first";
    finding.part = part.designator;
    finding.quantity = "filament hot before plate volts";
    finding.situation = "every stage with the tube in";
    finding.limit_source = "warm-up of the named type or of the record [866A-DS]";
    finding.verdict = core::Verdict::unsafe;
    finding.note = why;
    findings.push_back(finding);
  }
  return findings;
}

}  // namespace firstglow::sim
