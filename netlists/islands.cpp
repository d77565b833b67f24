#include "netlists/islands.hpp"

#include "netlists/node_groups.hpp"

namespace firstglow::netlists {
namespace {

std::size_t at(DeckNode node) { return static_cast<std::size_t>(node); }

/// Joins the ends of an element that leads direct current.
struct JoinPath {
  NodeGroups& groups;

  template <class TwoEnds>
  void operator()(const TwoEnds& element) const {
    groups.join(at(element.a), at(element.b));
  }
  void operator()(const CapacitorElement&) const {}
  void operator()(const DiodeElement&) const {}
  void operator()(const VacuumDiodeElement&) const {}
  void operator()(const CurrentMirrorElement&) const {}
  void operator()(const SpaceCurrentElement&) const {}
  void operator()(const GridDriveElement&) const {}
};

void count(std::vector<int>& ends, core::NodeIndex node) {
  if (node != core::kOpenNode) {
    ++ends[static_cast<std::size_t>(node)];
  }
}

void mark(std::vector<bool>& nodes, core::NodeIndex node) {
  if (node != core::kOpenNode) {
    nodes[static_cast<std::size_t>(node)] = true;
  }
}

bool is_marked(const std::vector<bool>& nodes, core::NodeIndex node) {
  return node != core::kOpenNode && nodes[static_cast<std::size_t>(node)];
}

}  // namespace

void add_rectifier_meters(const core::Rig& rig, BuiltDeck& built) {
  std::vector<int> diodes(rig.nodes.size(), 0);
  std::vector<int> others(rig.nodes.size(), 0);
  std::vector<bool> heater(rig.nodes.size(), false);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::RectifierHeater* tube = core::rectifier_heater(rig.parts[i]);
    if (tube != nullptr) {
      mark(heater, tube->a);
      mark(heater, tube->b);
    }
  }
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (!built.part_in[i]) {
      continue;
    }
    const std::vector<core::RectifierPath> paths = core::rectifier_paths(rig.parts[i]);
    for (const core::RectifierPath& path : paths) {
      count(diodes, path.anode);
      count(diodes, path.cathode);
    }
    const bool iron = std::holds_alternative<core::PowerTransformer>(rig.parts[i].data);
    for (const core::NodeIndex node : core::terminals(rig.parts[i])) {
      // the winding that heats a rectifier tube rides on the output and is no load of it
      if (paths.empty() && !(iron && is_marked(heater, node))) {
        count(others, node);
      }
    }
  }
  for (std::size_t n = 1; n < rig.nodes.size(); ++n) {
    if (diodes[n] > 0 && others[n] == 0) {
      built.meters.push_back(built.deck.add(-1, ResistorElement{*built.node_of[n], 0, kMeterOhm}));
    }
  }
}

void tie_islands(BuiltDeck& built) {
  NodeGroups groups(at(built.deck.node_count));
  for (const Element& element : built.deck.elements) {
    std::visit(JoinPath{groups}, element.data);
  }
  for (DeckNode node = 1; node < built.deck.node_count; ++node) {
    if (!groups.same(at(node), 0)) {
      built.ties.push_back(built.deck.add(-1, ResistorElement{node, 0, kTieOhm}));
      groups.join(at(node), 0);
    }
  }
}

}  // namespace firstglow::netlists
