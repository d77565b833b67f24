#include "core/current_graph.hpp"

#include <algorithm>

namespace firstglow::core {
namespace {

/// Steps for all path searches of one rig: below a tenth of a second.
constexpr long kMostSteps = 2'000'000;
/// Steps for a single search, so that one tangle does not use up the rest.
constexpr long kMostStepsPerSearch = 50'000;

struct EdgesOf {
  static CurrentEdge edge(NodeIndex from, NodeIndex to, EdgeRole role, bool is_fuse = false) {
    return {from, to, role, is_fuse, -1};
  }
  static void add_winding(std::vector<CurrentEdge>& edges, const Winding& winding, EdgeRole role) {
    for (std::size_t i = 1; i < winding.nodes.size(); ++i) {
      edges.push_back(edge(winding.nodes[i - 1], winding.nodes[i], role));
    }
  }

  std::vector<CurrentEdge> operator()(const MainsInlet& p) const {
    return {edge(p.line, p.neutral, EdgeRole::source)};
  }
  std::vector<CurrentEdge> operator()(const Fuse& p) const {
    return {edge(p.a, p.b, EdgeRole::protector, true)};
  }
  std::vector<CurrentEdge> operator()(const SeriesLamp& p) const {
    return {edge(p.a, p.b, EdgeRole::protector)};
  }
  std::vector<CurrentEdge> operator()(const NtcLimiter& p) const {
    return {edge(p.a, p.b, EdgeRole::protector)};
  }
  std::vector<CurrentEdge> operator()(const StepStart& p) const {
    return {edge(p.a, p.b, EdgeRole::protector)};
  }
  std::vector<CurrentEdge> operator()(const Variac& p) const {
    return {edge(p.input, p.output, EdgeRole::protector),
            edge(p.output, p.common, EdgeRole::protector),
            edge(p.common, p.input, EdgeRole::protector)};
  }
  std::vector<CurrentEdge> operator()(const PowerTransformer& p) const {
    std::vector<CurrentEdge> edges;
    add_winding(edges, p.primary, EdgeRole::primary);
    for (const Winding& winding : p.secondaries) {
      add_winding(edges, winding, EdgeRole::source);
    }
    return edges;
  }
  std::vector<CurrentEdge> operator()(const SiliconDiode& p) const {
    return {edge(p.anode, p.cathode, EdgeRole::diode)};
  }
  std::vector<CurrentEdge> operator()(const Resistor& p) const {
    const bool drains = p.role == ResistorRole::bleeder || p.role == ResistorRole::equaliser;
    return {edge(p.a, p.b, drains ? EdgeRole::drain : EdgeRole::resistance)};
  }
  std::vector<CurrentEdge> operator()(const Capacitor& p) const {
    return {edge(p.plus, p.minus, EdgeRole::capacitor)};
  }
  std::vector<CurrentEdge> operator()(const Choke& p) const {
    return {edge(p.a, p.b, EdgeRole::protector)};
  }
  std::vector<CurrentEdge> operator()(const ResistiveLoad& p) const {
    return {edge(p.plus, p.minus, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const CurrentLoad& p) const {
    return {edge(p.plus, p.minus, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const Heater& p) const {
    return {edge(p.a, p.b, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const VacuumRectifier& p) const {
    return {edge(p.plate_1, p.cathode, EdgeRole::diode),
            edge(p.plate_2, p.cathode, EdgeRole::diode),
            edge(p.heater.a, p.heater.b, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const GasRectifier& p) const {
    return {edge(p.plate, p.cathode, EdgeRole::diode),
            edge(p.heater.a, p.heater.b, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const SeleniumRectifier& p) const {
    return {edge(p.anode, p.cathode, EdgeRole::diode)};
  }
  std::vector<CurrentEdge> operator()(const VrTube& p) const {
    return {edge(p.plus, p.minus, EdgeRole::drain)};
  }
  std::vector<CurrentEdge> operator()(const PowerTube& p) const {
    std::vector<CurrentEdge> edges{edge(p.plate, p.cathode, EdgeRole::drain),
                                   edge(p.screen, p.cathode, EdgeRole::drain)};
    if (p.grid != p.cathode) {  // a grid tied to its cathode is a circuit, not a slip of the pen
      edges.push_back(edge(p.grid, p.cathode, EdgeRole::drain));
    }
    return edges;
  }
};

}  // namespace

std::vector<CurrentEdge> edges_of(const Part& part) { return std::visit(EdgesOf{}, part.data); }

struct CurrentGraph::Search {
  NodeIndex goal;
  PathWish wish;
  const Filter& allowed;
  std::vector<const CurrentEdge*>& path;
  std::vector<bool> visited;
  long steps_left;
};

CurrentGraph::CurrentGraph(const Rig& rig) : leaving_(rig.nodes.size()), steps_left_(kMostSteps) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    for (CurrentEdge edge : edges_of(rig.parts[i])) {
      if (edge.from == kOpenNode || edge.to == kOpenNode || edge.from == edge.to) {
        continue;
      }
      edge.part = static_cast<int>(i);
      const int index = static_cast<int>(edges_.size());
      leaving_.at(static_cast<std::size_t>(edge.from)).push_back(index);
      if (edge.role != EdgeRole::diode) {
        leaving_.at(static_cast<std::size_t>(edge.to)).push_back(index);
      }
      edges_.push_back(edge);
    }
  }
}

bool CurrentGraph::is_reachable(NodeIndex from, NodeIndex to, const Filter& allowed) const {
  std::vector<bool> visited(leaving_.size(), false);
  std::vector<NodeIndex> open{from};
  visited[static_cast<std::size_t>(from)] = true;
  while (!open.empty()) {
    const NodeIndex at = open.back();
    open.pop_back();
    if (at == to) {
      return true;
    }
    for (const int index : leaving_[static_cast<std::size_t>(at)]) {
      const CurrentEdge& edge = edges_[static_cast<std::size_t>(index)];
      const NodeIndex next = edge.from == at ? edge.to : edge.from;
      if (!visited[static_cast<std::size_t>(next)] && allowed(edge)) {
        visited[static_cast<std::size_t>(next)] = true;
        open.push_back(next);
      }
    }
  }
  return false;
}

PathAnswer CurrentGraph::find_path(NodeIndex from, NodeIndex to, PathWish wish,
                                   const Filter& allowed, std::vector<const CurrentEdge*>& path) {
  path.clear();
  const long given = std::min(steps_left_, kMostStepsPerSearch);
  Search search{to, wish, allowed, path, std::vector<bool>(leaving_.size(), false), given};
  const PathAnswer answer = walk(search, from, {});
  steps_left_ -= given - search.steps_left;
  return answer;
}

PathAnswer CurrentGraph::walk(Search& search, NodeIndex at, PathWish seen) {
  if (at == search.goal) {
    const bool granted = (seen.source || !search.wish.source) && (seen.diode || !search.wish.diode);
    return granted ? PathAnswer::found : PathAnswer::none;
  }
  if (--search.steps_left < 0) {
    return PathAnswer::unknown;
  }
  search.visited[static_cast<std::size_t>(at)] = true;
  for (const int index : leaving_[static_cast<std::size_t>(at)]) {
    const CurrentEdge& edge = edges_[static_cast<std::size_t>(index)];
    const NodeIndex next = edge.from == at ? edge.to : edge.from;
    if (search.visited[static_cast<std::size_t>(next)] || !search.allowed(edge)) {
      continue;
    }
    search.path.push_back(&edge);
    const PathAnswer answer = walk(
        search, next,
        {seen.source || edge.role == EdgeRole::source, seen.diode || edge.role == EdgeRole::diode});
    if (answer != PathAnswer::none) {
      return answer;
    }
    search.path.pop_back();
  }
  search.visited[static_cast<std::size_t>(at)] = false;
  return PathAnswer::none;
}

}  // namespace firstglow::core
