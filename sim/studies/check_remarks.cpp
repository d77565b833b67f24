#include <fmt/format.h>

#include <algorithm>

#include "netlists/part_kinds.hpp"
#include "netlists/stack.hpp"
#include "sim/studies/check_words.hpp"
#include "sim/studies/tube_rules.hpp"

namespace firstglow::sim {
namespace {

template <class Kind>
std::vector<std::string> names_of_kind(const core::Rig& rig) {
  std::vector<std::string> names;
  for (const core::Part& part : rig.parts) {
    if (std::holds_alternative<Kind>(part.data)) {
      names.push_back(part.designator);
    }
  }
  return names;
}

/// Does the part carry a trade default for its tolerance?
struct ToleranceAssumed {
  template <class Data>
  bool operator()(const Data& data) const {
    if constexpr (requires { data.value.origin; }) {
      return data.value.origin == core::ToleranceOrigin::assumed;
    } else {
      return false;
    }
  }
};

std::string designators(const core::Rig& rig, const std::vector<int>& parts) {
  std::vector<std::string> names;
  names.reserve(parts.size());
  for (const int part : parts) {
    names.push_back(rig.parts[static_cast<std::size_t>(part)].designator);
  }
  return fmt::format("{}", fmt::join(names, ", "));
}

void add_mains_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  const std::vector<std::string> variacs = names_of_kind<core::Variac>(rig);
  const std::vector<std::string> lamps = names_of_kind<core::SeriesLamp>(rig);
  if (variacs.empty()) {
    remarks.emplace_back(
        "No variac in the record: the inlet is taken as the output of the variac, so its settings "
        "scale the line volts.");
  }
  if (!variacs.empty()) {
    remarks.push_back(fmt::format(
        "{} isolates nothing: its common end is the mains neutral, or, with a plug turned round, "
        "the live line. The rig behind it is at line potential until a transformer with two "
        "separate windings comes.",
        fmt::join(variacs, ", ")));
  }
  remarks.emplace_back(
      "A variac does not isolate: with the knob at zero the whole rig can still be at line "
      "potential. Only a transformer with two separate windings isolates.");
  if (lamps.empty()) {
    remarks.emplace_back(
        "No series lamp in the record: a lamp asked for is put in series at the inlet.");
  } else {
    remarks.push_back(fmt::format(
        "Series lamp {} is in the record: it is in circuit only where an answer says so, and "
        "bypassed everywhere else.",
        fmt::join(lamps, ", ")));
  }
}

void add_stack_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  for (const netlists::StackJoint& joint : netlists::stack_joints(rig)) {
    remarks.push_back(fmt::format(
        "{} and {} stand in series between {} and {}, joint at {}: the can of {} is connected to "
        "its minus, so it is not at chassis potential but at the volts of the joint. Insulate it, "
        "and treat it as live.",
        designators(rig, joint.above), designators(rig, joint.below), rig.node_name(joint.top),
        rig.node_name(joint.bottom), rig.node_name(joint.node), designators(rig, joint.above)));
  }
}

void add_tube_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  for (const core::Part& part : rig.parts) {
    const core::RectifierHeater* heater = core::rectifier_heater(part);
    if (heater == nullptr) {
      continue;
    }
    if (heater->direct) {
      remarks.push_back(fmt::format(
          "The filament of {} at {} and {} is at the volts of the supply: its winding, socket and "
          "wiring carry B+, not {:g} V.",
          part.designator, rig.node_name(heater->a), rig.node_name(heater->b),
          heater->rated_volts.si()));
    }
    const std::string why = no_filament_first(rig, part);
    if (!why.empty()) {
      remarks.push_back(fmt::format("FILAMENT FIRST is not possible for {}: {}. rampup refuses.",
                                    part.designator, why));
    }
  }
}

void add_raised_can_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  std::vector<std::string> raised;
  for (const core::Part& part : rig.parts) {
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    if (capacitor != nullptr && capacitor->dielectric == core::Dielectric::electrolytic &&
        capacitor->minus != core::kChassis) {
      raised.push_back(part.designator);
    }
  }
  if (!raised.empty()) {
    remarks.push_back(fmt::format(
        "Minus terminal not on the chassis: {}. If such a capacitor sits in a metal can, the can "
        "carries those volts and must be insulated from the chassis.",
        fmt::join(raised, ", ")));
  }
}

/// Does a rectifier's cathode, a choke or the plus end of a filter capacitor sit on the node?
bool carries_rectified_volts(const core::Rig& rig, core::NodeIndex node) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [node](const core::Part& part) {
    if (const auto* diode = std::get_if<core::SiliconDiode>(&part.data)) {
      return diode->cathode == node;
    }
    if (const auto* choke = std::get_if<core::Choke>(&part.data)) {
      return choke->a == node || choke->b == node;
    }
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    return capacitor != nullptr && capacitor->plus == node &&
           netlists::is_filter_capacitor(*capacitor);
  });
}

/// A winding of a few volts that shares a node with a rectifier's output stands at B+.
void add_raised_winding_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  constexpr double kHeaterVolts = 15.0;
  for (const core::Part& part : rig.parts) {
    const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
    if (transformer == nullptr) {
      continue;
    }
    for (const core::Winding& winding : transformer->secondaries) {
      double volts = 0.0;
      for (const core::RmsVolts section : winding.section_volts) {
        volts += section.si();
      }
      for (const core::NodeIndex node : winding.nodes) {
        if (volts <= kHeaterVolts && node > core::kChassis && carries_rectified_volts(rig, node)) {
          remarks.push_back(fmt::format(
              "{} winding {} is joined to {}, which carries rectified volts: the whole winding "
              "stands at them, against the chassis and every other winding. A winding made for "
              "heaters at the chassis is not insulated for that.",
              part.designator, winding.name, rig.node_name(node)));
          break;
        }
      }
    }
  }
}

void add_assumption_remarks(const core::Rig& rig, std::vector<std::string>& remarks) {
  std::vector<std::string> assumed;
  for (const core::Part& part : rig.parts) {
    if (std::visit(ToleranceAssumed{}, part.data)) {
      assumed.push_back(part.designator);
    }
  }
  if (!assumed.empty()) {
    remarks.push_back(
        fmt::format("No tolerance in the record, trade default used (common practice, no source): "
                    "{}.",
                    fmt::join(assumed, ", ")));
  }
}

}  // namespace

std::vector<std::string> wiring_remarks(const core::Rig& rig) {
  std::vector<std::string> remarks;
  add_mains_remarks(rig, remarks);
  add_stack_remarks(rig, remarks);
  add_tube_remarks(rig, remarks);
  add_raised_can_remarks(rig, remarks);
  add_raised_winding_remarks(rig, remarks);
  add_assumption_remarks(rig, remarks);
  remarks.emplace_back(
      "Ohms are for plug out, tubes out, capacitors discharged. The reading climbs while the meter "
      "charges the capacitors: wait until it stands still; on a node with electrolytics keep the "
      "lead that is positive on their plus side.");
  remarks.emplace_back(
      "A reading below the band is a reason to stop and find the path (wet insulation, a tired "
      "capacitor); a reading inside it proves nothing about what happens at working volts.");
  return remarks;
}

}  // namespace firstglow::sim
