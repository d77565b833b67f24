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
  void operator()(const CurrentMirrorElement&) const {}
  void operator()(const SpaceCurrentElement&) const {}
  void operator()(const GridDriveElement&) const {}
};

}  // namespace

void add_rectifier_meters(const core::Rig& rig, BuiltDeck& built) {
  std::vector<int> diodes(rig.nodes.size(), 0);
  std::vector<int> others(rig.nodes.size(), 0);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const bool diode = std::holds_alternative<core::SiliconDiode>(rig.parts[i].data);
    for (const core::NodeIndex node : core::terminals(rig.parts[i])) {
      if (built.part_in[i] && node != core::kOpenNode) {
        ++(diode ? diodes : others)[static_cast<std::size_t>(node)];
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
