#include "sim/studies/tube_rules.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "netlists/node_groups.hpp"
#include "netlists/part_kinds.hpp"

namespace firstglow::sim {
namespace {

using core::NodeIndex;
using netlists::NodeGroups;

/// A series resistor above this is a filter of its own [ohm].
constexpr double kMostSeriesOhm = 1e3;

std::size_t at(NodeIndex node) { return static_cast<std::size_t>(node); }

/// Joins the nodes of the list, but for the chassis and open ends.
void join_all(NodeGroups& groups, std::vector<NodeIndex> nodes) {
  std::erase_if(nodes, [](NodeIndex node) { return node <= core::kChassis; });
  for (std::size_t i = 1; i < nodes.size(); ++i) {
    groups.join(at(nodes[0]), at(nodes[i]));
  }
}

bool touches(const core::Winding& winding, NodeIndex node) {
  return node != core::kOpenNode &&
         std::find(winding.nodes.begin(), winding.nodes.end(), node) != winding.nodes.end();
}

/// A fuse or a small series resistor, with its ohms.
std::optional<double> small_series_ohm(const core::Part& part) {
  if (!netlists::is_path_part(part)) {
    return std::nullopt;
  }
  const std::optional<double> ohm = netlists::return_ohm(part);
  return ohm && *ohm <= kMostSeriesOhm ? ohm : std::nullopt;
}

const core::PowerTransformer* as_iron(const core::Part& part) {
  return std::get_if<core::PowerTransformer>(&part.data);
}

double sum_of(const std::vector<core::RmsVolts>& volts) {
  double sum = 0.0;
  for (const core::RmsVolts& each : volts) {
    sum += each.si();
  }
  return sum;
}

/// The section next to the winding's end at `node`; of an inner tap the shorter side.
std::optional<PlateSupply> supply_at(const core::Rig& rig, const core::PowerTransformer& iron,
                                     const core::Winding& winding, NodeIndex node) {
  const auto place = std::find(winding.nodes.begin(), winding.nodes.end(), node);
  const auto k = static_cast<std::size_t>(place - winding.nodes.begin());
  const bool last = k + 1 == winding.nodes.size();
  const std::size_t section = last ? k - 1 : k;
  const double primary_v = sum_of(iron.primary.section_volts);
  double primary_ohm = 0.0;
  for (const core::Ohms& each : iron.primary.section_ohms) {
    primary_ohm += each.si();
  }
  if (primary_v <= 0.0) {
    return std::nullopt;
  }
  const double ratio = winding.section_volts.at(section).si() / primary_v;
  return PlateSupply{
      core::RmsVolts(ratio * rig.mains().nominal.si()),
      core::Ohms(winding.section_ohms.at(section).si() + primary_ohm * ratio * ratio)};
}

core::Finding tube_finding(const core::Part& part, const char* rule, const char* quantity,
                           const char* unit) {
  core::Finding finding;
  finding.rule = rule;
  finding.part = part.designator;
  finding.quantity = quantity;
  finding.unit = unit;
  finding.situation = "as wired";
  finding.limit_source = "rating in the record or of the named type";
  return finding;
}

core::Verdict held(const core::Finding& finding) {
  return *finding.value <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
}

core::Finding capacitor_finding(const core::Part& part, const core::VacuumRectifier& tube,
                                core::Farads capacitance) {
  core::Finding finding = tube_finding(part, "rectifier-input-capacitor",
                                       "capacitance right at the cathode, highest", "F");
  finding.value = capacitance.si();
  if (!tube.largest_capacitor) {
    finding.limit_source.clear();
    finding.note = "rating unknown: give largest_capacitor in the record";
    return finding;
  }
  finding.limit = tube.largest_capacitor->si();
  finding.verdict = held(finding);
  return finding;
}

/// The ohms the tube asks for at these plate volts; empty above its table, or without one.
std::optional<core::Ohms> asked_ohms(const core::VacuumRectifier& tube, core::RmsVolts volts) {
  for (const core::PlateOhms& row : tube.least_plate_ohms) {
    // a row holds for its own volts, however ratio times line happens to round
    if (volts.si() <= row.up_to.si() * (1.0 + 1e-9)) {
      return row.least;
    }
  }
  return std::nullopt;
}

core::Finding ohms_finding(const core::Rig& rig, const core::Part& part,
                           const core::VacuumRectifier& tube, NodeIndex plate) {
  core::Finding finding =
      tube_finding(part, "rectifier-plate-ohms", "supply ohms asked for in each plate", "ohm");
  const std::optional<PlateSupply> supply = plate_supply(rig, plate);
  if (!supply) {
    finding.limit_source.clear();
    finding.note = fmt::format("no winding found that feeds {}", rig.node_name(plate));
    return finding;
  }
  finding.limit = supply->ohms.si();
  finding.limit_source = fmt::format(
      "what this supply has at {:.0f} V rms: half winding, primary times the ratio "
      "squared, resistors in the plate lead",
      supply->volts.si());
  const std::optional<core::Ohms> asked = asked_ohms(tube, supply->volts);
  if (!asked) {
    finding.note = tube.least_plate_ohms.empty()
                       ? "not known what the tube asks for: give least_plate_ohms in the record"
                       : "plate volts above the table of the type: give least_plate_ohms";
    return finding;
  }
  finding.value = asked->si();
  finding.verdict = held(finding);
  if (finding.verdict == core::Verdict::unsafe) {
    finding.note =
        fmt::format("{:.0f} ohm more in each plate lead would do", asked->si() - supply->ohms.si());
  }
  return finding;
}

/// The transformer with a secondary at this node, through small series parts.
const core::Part* transformer_at(const core::Rig& rig, NodeIndex node) {
  NodeGroups groups(rig.nodes.size());
  for (const core::Part& part : rig.parts) {
    if (small_series_ohm(part)) {
      join_all(groups, core::terminals(part));
    }
  }
  for (const core::Part& part : rig.parts) {
    const core::PowerTransformer* iron = as_iron(part);
    if (iron == nullptr || node == core::kOpenNode) {
      continue;
    }
    for (const core::Winding& winding : iron->secondaries) {
      for (const NodeIndex end : winding.nodes) {
        if (end == node ||
            (end > core::kChassis && node > core::kChassis && groups.same(at(end), at(node)))) {
          return &part;
        }
      }
    }
  }
  return nullptr;
}

/// Does the variac drive this primary? Without a variac in the record it stands at the inlet.
bool behind_variac(const core::Rig& rig, const core::PowerTransformer& iron) {
  const core::Variac* variac = nullptr;
  NodeGroups groups(rig.nodes.size());
  for (const core::Part& part : rig.parts) {
    if (const auto* found = std::get_if<core::Variac>(&part.data)) {
      variac = found;
    } else if (netlists::is_path_part(part) ||
               std::holds_alternative<core::SeriesLamp>(part.data)) {
      join_all(groups, core::terminals(part));
    }
  }
  return variac == nullptr ||
         std::any_of(iron.primary.nodes.begin(), iron.primary.nodes.end(), [&](NodeIndex node) {
           return node != core::kOpenNode && variac->output != core::kOpenNode &&
                  groups.same(at(node), at(variac->output));
         });
}

}  // namespace

core::Farads input_capacitance(const core::Rig& rig, const core::RectifierHeater& heater,
                               NodeIndex cathode) {
  NodeGroups groups(rig.nodes.size() + 1);
  const bool tied = heater.direct || cathode == heater.a || cathode == heater.b;
  if (tied) {
    join_all(groups, {heater.a, cathode, heater.b});
  }
  for (const core::Part& part : rig.parts) {
    if (small_series_ohm(part)) {
      join_all(groups, core::terminals(part));
    }
    const core::PowerTransformer* iron = as_iron(part);
    for (std::size_t w = 0; tied && iron != nullptr && w < iron->secondaries.size(); ++w) {
      const core::Winding& winding = iron->secondaries[w];
      if (touches(winding, heater.a) && touches(winding, heater.b)) {
        join_all(groups, winding.nodes);
      }
    }
  }
  double farad = 0.0;
  for (const core::Part& part : rig.parts) {
    const auto* can = std::get_if<core::Capacitor>(&part.data);
    const bool here = can != nullptr && cathode != core::kOpenNode &&
                      ((can->plus != core::kOpenNode && groups.same(at(can->plus), at(cathode))) ||
                       (can->minus != core::kOpenNode && groups.same(at(can->minus), at(cathode))));
    if (here && netlists::is_filter_capacitor(*can)) {
      farad += can->value.high().si();
    }
  }
  return core::Farads(farad);
}

bool has_capacitor_input(const core::Rig& rig, const core::VacuumRectifier& tube) {
  return input_capacitance(rig, tube.heater, tube.cathode).si() > 0.0;
}

std::optional<PlateSupply> plate_supply(const core::Rig& rig, NodeIndex plate) {
  double series_ohm = 0.0;
  NodeIndex node = plate;
  // follow the plate lead over at most as many series parts as there are nodes
  for (std::size_t step = 0; step < rig.nodes.size() && node != core::kOpenNode; ++step) {
    for (const core::Part& part : rig.parts) {
      const core::PowerTransformer* iron = as_iron(part);
      for (std::size_t w = 0; iron != nullptr && w < iron->secondaries.size(); ++w) {
        if (touches(iron->secondaries[w], node)) {
          auto supply = supply_at(rig, *iron, iron->secondaries[w], node);
          if (supply) {
            supply->ohms = supply->ohms + core::Ohms(series_ohm);
          }
          return supply;
        }
      }
    }
    const auto lead = std::find_if(rig.parts.begin(), rig.parts.end(), [&](const core::Part& part) {
      const std::vector<NodeIndex> ends = core::terminals(part);
      return small_series_ohm(part) && std::find(ends.begin(), ends.end(), node) != ends.end();
    });
    if (lead == rig.parts.end() || step > 0) {
      return std::nullopt;  // one part in the plate lead, no more
    }
    const std::vector<NodeIndex> ends = core::terminals(*lead);
    series_ohm += *small_series_ohm(*lead);
    node = ends[0] == node ? ends[1] : ends[0];
  }
  return std::nullopt;
}

std::vector<core::Finding> tube_rule_findings(const core::Rig& rig) {
  std::vector<core::Finding> findings;
  for (const core::Part& part : rig.parts) {
    const auto* tube = std::get_if<core::VacuumRectifier>(&part.data);
    if (tube == nullptr) {
      continue;
    }
    const core::Farads capacitance = input_capacitance(rig, tube->heater, tube->cathode);
    if (capacitance.si() > 0.0) {
      findings.push_back(capacitor_finding(part, *tube, capacitance));
      findings.push_back(ohms_finding(rig, part, *tube, tube->plate_1));
    }
  }
  return findings;
}

std::string no_filament_first(const core::Rig& rig, const core::Part& gas_tube) {
  const auto* tube = std::get_if<core::GasRectifier>(&gas_tube.data);
  if (tube == nullptr) {
    return {};
  }
  const core::Part* filament = transformer_at(rig, tube->heater.a);
  const core::Part* plate = transformer_at(rig, tube->plate);
  if (filament == nullptr || plate == nullptr) {
    return "the record does not say what feeds filament and plate";
  }
  if (filament == plate) {
    return fmt::format(
        "filament and plate hang on one transformer, {}: plate volts come with the "
        "filament volts; the tube needs a filament transformer of its own",
        plate->designator);
  }
  if (behind_variac(rig, *as_iron(*filament)) && behind_variac(rig, *as_iron(*plate))) {
    return fmt::format(
        "the variac drives filament transformer {} and plate transformer {} "
        "together; feed {} ahead of the variac, full filament volts first",
        filament->designator, plate->designator, filament->designator);
  }
  return {};
}

}  // namespace firstglow::sim
