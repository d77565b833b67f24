#include "core/rig_checks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "core/current_paths.hpp"
#include "core/record_fields.hpp"

namespace firstglow::core {
namespace {

void check_inlets(const Rig& rig, std::vector<InputFault>& faults) {
  const Part* first = nullptr;
  for (const Part& part : rig.parts) {
    if (!std::holds_alternative<MainsInlet>(part.data)) {
      continue;
    }
    if (first != nullptr) {
      faults.push_back(
          {part.where,
           fmt::format("part '{}' is a second mains inlet beside '{}'; expected exactly "
                       "one; remove one of them",
                       part.designator, first->designator)});
    }
    first = first != nullptr ? first : &part;
  }
  if (first == nullptr) {
    faults.push_back({rig.parts.front().where,
                      "the parts hold no mains_inlet; expected exactly one; add the mains socket "
                      "with its volts and frequency"});
  }
}

std::vector<int> terminal_counts(const Rig& rig) {
  std::vector<int> counts(rig.nodes.size(), 0);
  for (const Part& part : rig.parts) {
    for (const NodeIndex node : terminals(part)) {
      if (node != kOpenNode) {
        ++counts.at(static_cast<std::size_t>(node));
      }
    }
  }
  return counts;
}

void check_nodes(const Rig& rig, std::vector<InputFault>& faults) {
  const std::vector<int> counts = terminal_counts(rig);
  if (counts[kChassis] == 0) {
    faults.push_back({rig.nodes[kChassis].where,
                      fmt::format("chassis node '{}' has no part on it; expected the node that the "
                                  "supply returns to; check the spelling",
                                  rig.nodes[kChassis].name)});
  }
  for (std::size_t i = 1; i < counts.size(); ++i) {
    if (counts[i] == 1) {
      faults.push_back(
          {rig.nodes[i].where,
           fmt::format("node '{}' leads nowhere: only one terminal is on it; expected two or more; "
                       "check the spelling, or write '{}' for an end left insulated on purpose",
                       rig.nodes[i].name, kOpenName)});
    }
  }
}

std::string lower_case(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return text;
}

void check_grounds(const Rig& rig, std::vector<InputFault>& faults) {
  constexpr std::array<std::string_view, 6> kGroundWords{"gnd",     "ground", "earth",
                                                         "chassis", "0",      "frame"};
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    const std::string word = lower_case(rig.nodes[i].name);
    if (std::find(kGroundWords.begin(), kGroundWords.end(), word) != kGroundWords.end()) {
      faults.push_back(
          {rig.nodes[i].where,
           fmt::format(
               "node '{}' looks like a second ground beside the chassis node '{}'; expected "
               "one ground; use the name '{}' for both, or give the node a name of its own",
               rig.nodes[i].name, rig.nodes[kChassis].name, rig.nodes[kChassis].name)});
    }
  }
}

void check_shorted_parts(const Rig& rig, std::vector<InputFault>& faults) {
  for (const Part& part : rig.parts) {
    for (const CurrentEdge& edge : edges_of(part)) {
      if (edge.from == edge.to && edge.from != kOpenNode) {
        faults.push_back(
            {part.where, fmt::format("part '{}' ({}) has two neighbouring ends on node '{}'; "
                                     "expected two different nodes; correct its nodes",
                                     part.designator, part.kind, rig.node_name(edge.from))});
        break;
      }
    }
  }
}

}  // namespace

std::vector<InputFault> check_rig(const Rig& rig) {
  std::vector<InputFault> faults;
  check_inlets(rig, faults);
  check_nodes(rig, faults);
  check_grounds(rig, faults);
  check_shorted_parts(rig, faults);
  check_current_paths(rig, faults);
  return faults;
}

}  // namespace firstglow::core
