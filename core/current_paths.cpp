#include "core/current_paths.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <set>

#include "core/current_graph.hpp"

namespace firstglow::core {
namespace {

using Path = std::vector<const CurrentEdge*>;

std::vector<RectifierPath> connected_paths(const Part& part) {
  std::vector<RectifierPath> paths = rectifier_paths(part);
  std::erase_if(paths, [](const RectifierPath& path) {
    return path.anode == kOpenNode || path.cathode == kOpenNode || path.anode == path.cathode;
  });
  return paths;
}

void check_dead_rectifiers(const Rig& rig, const CurrentGraph& graph,
                           std::vector<InputFault>& faults) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    for (const RectifierPath& path : connected_paths(rig.parts[i])) {
      const auto not_itself = [i](const CurrentEdge& edge) {
        return edge.part != static_cast<int>(i);
      };
      if (graph.is_reachable(path.cathode, path.anode, not_itself)) {
        continue;
      }
      faults.push_back(
          {rig.parts[i].where,
           fmt::format("rectifier '{}' can never conduct: no current finds a way from its cathode "
                       "node '{}' back to its anode node '{}'; expected a closed path; check "
                       "whether it, or another rectifier in its path, is turned round",
                       rig.parts[i].designator, rig.node_name(path.cathode),
                       rig.node_name(path.anode))});
    }
  }
}

bool is_in_short(const CurrentEdge& edge) {
  return edge.role == EdgeRole::source || edge.role == EdgeRole::primary ||
         edge.role == EdgeRole::diode || edge.is_fuse;
}

void check_shorted_windings(const Rig& rig, CurrentGraph& graph, std::vector<InputFault>& faults) {
  std::set<int> reported;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    for (const RectifierPath& each : connected_paths(rig.parts[i])) {
      Path path;
      if (reported.count(static_cast<int>(i)) > 0 ||
          graph.find_path(each.cathode, each.anode, {true, false}, is_in_short, path) !=
              PathAnswer::found) {
        continue;
      }
      std::set<int> in_loop{static_cast<int>(i)};
      for (const CurrentEdge* edge : path) {
        in_loop.insert(edge->part);
      }
      std::vector<std::string> names;
      for (const int part : in_loop) {
        names.push_back(rig.parts[static_cast<std::size_t>(part)].designator);
        reported.insert(part);
      }
      faults.push_back(
          {rig.parts[i].where,
           fmt::format("rectifier '{}' shorts a winding: {} form a loop in which nothing but the "
                       "winding limits the current; expected a load in the loop; check whether one "
                       "of the rectifiers is turned round",
                       rig.parts[i].designator, fmt::join(names, ", "))});
    }
  }
}

/// May current that charges the capacitor `part` flow here? `stiff` leaves out resistors and other
/// capacitors, so that only the strongest path counts.
CurrentGraph::Filter charging_edges(int part, bool stiff) {
  return [part, stiff](const CurrentEdge& edge) {
    const bool weak = edge.role == EdgeRole::resistance || edge.role == EdgeRole::capacitor;
    return edge.part != part && edge.role != EdgeRole::drain && !(stiff && weak);
  };
}

enum class Charging { right, backwards, unclear };

/// Stiff paths decide first: they overrule what can only trickle in through other parts.
Charging charging_of(CurrentGraph& graph, const Capacitor& can, int part, Path& backwards) {
  for (const bool stiff : {true, false}) {
    const CurrentGraph::Filter allowed = charging_edges(part, stiff);
    Path right_path;
    const PathAnswer right =
        graph.find_path(can.minus, can.plus, {true, true}, allowed, right_path);
    const PathAnswer wrong = graph.find_path(can.plus, can.minus, {true, true}, allowed, backwards);
    if (right == PathAnswer::unknown || wrong == PathAnswer::unknown) {
      return Charging::unclear;
    }
    if (right != wrong) {
      return right == PathAnswer::found ? Charging::right : Charging::backwards;
    }
  }
  return Charging::unclear;
}

void check_polarity(const Rig& rig, CurrentGraph& graph, std::vector<InputFault>& faults) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const Part& part = rig.parts[i];
    const auto* can = std::get_if<Capacitor>(&part.data);
    if (can == nullptr || can->dielectric != Dielectric::electrolytic || can->plus == kOpenNode ||
        can->minus == kOpenNode || can->plus == can->minus) {
      continue;
    }
    Path path;
    if (charging_of(graph, *can, static_cast<int>(i), path) != Charging::backwards) {
      continue;
    }
    std::vector<std::string> names;
    for (const CurrentEdge* edge : path) {
      names.push_back(rig.parts[static_cast<std::size_t>(edge->part)].designator);
    }
    faults.push_back(
        {part.where,
         fmt::format("electrolytic '{}' is polarised against the supply: {} charge its minus node "
                     "'{}' positive against its plus node '{}'; expected the plus end on the "
                     "positive side; turn it round, or the rectifier",
                     part.designator, fmt::join(names, ", "), rig.node_name(can->minus),
                     rig.node_name(can->plus))});
  }
}

}  // namespace

void check_current_paths(const Rig& rig, std::vector<InputFault>& faults) {
  CurrentGraph graph(rig);
  check_dead_rectifiers(rig, graph, faults);
  check_shorted_windings(rig, graph, faults);
  check_polarity(rig, graph, faults);
}

}  // namespace firstglow::core
