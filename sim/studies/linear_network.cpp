#include "sim/studies/linear_network.hpp"

#include <algorithm>
#include <set>
#include <variant>

#include "core/error.hpp"
#include "netlists/node_groups.hpp"

namespace firstglow::sim {
namespace {

using netlists::DeckNode;
using netlists::NodeGroups;

std::size_t at(int node) { return static_cast<std::size_t>(node); }

/// Nodes that stand for the flux of a core.
std::set<DeckNode> core_nodes(const netlists::Deck& deck) {
  std::set<DeckNode> nodes;
  for (const netlists::Element& element : deck.elements) {
    if (const auto* winding = std::get_if<netlists::WindingElement>(&element.data)) {
      nodes.insert(winding->core);
    }
  }
  nodes.erase(0);
  return nodes;
}

struct JoinShorts {
  NodeGroups& groups;

  void operator()(const netlists::DcSourceElement& ammeter) const {
    // The back volts of a gas tube stand behind a diode: as a short they only make it look nearer
    // to conducting than it is, which the proof that rectifiers stay off may take as the worst.
    groups.join(at(ammeter.a), at(ammeter.b));
  }
  void operator()(const netlists::SineSourceElement&) const {
    FIRSTGLOW_REQUIRE(false, "a linear network is made with the mains off");
  }
  void operator()(const netlists::ThermalResistorElement&) const {
    FIRSTGLOW_REQUIRE(false, "a linear network holds its tungsten");
  }
  template <class Other>
  void operator()(const Other&) const {}
};

/// Puts one element of the deck into the network.
class Collector {
 public:
  Collector(LinearNetwork& network, int part) : network_(network), part_(part) {}

  void operator()(const netlists::ResistorElement& e) { add(network_.resistors, e.a, e.b, e.ohm); }
  void operator()(const netlists::WindingElement& e) { add(network_.resistors, e.a, e.b, e.ohm); }
  void operator()(const netlists::CapacitorElement& e) {
    add(network_.capacitors, e.a, e.b, e.farad);
  }
  void operator()(const netlists::InductorElement& e) {
    add(network_.inductors, e.a, e.b, e.henry);
  }
  // A swinging choke at rest: what it does at higher currents only shortens the ringing.
  void operator()(const netlists::SinhCoilElement& e) {
    add(network_.inductors, e.a, e.b, e.scale_vs / e.scale_a);
  }
  void operator()(const netlists::DiodeElement& e) {
    network_.diodes.push_back(
        LinearDiode{network_.node_of[at(e.anode)], network_.node_of[at(e.cathode)], part_});
  }
  void operator()(const netlists::VacuumDiodeElement& e) {
    network_.diodes.push_back(
        LinearDiode{network_.node_of[at(e.anode)], network_.node_of[at(e.cathode)], part_});
  }
  template <class Other>
  void operator()(const Other&) const {}

 private:
  void add(std::vector<LinearBranch>& list, DeckNode a, DeckNode b, double value) const {
    const int from = network_.node_of[at(a)];
    const int to = network_.node_of[at(b)];
    if (from >= 0 && to >= 0 && from != to) {
      list.push_back(LinearBranch{from, to, value, part_});
    }
  }

  LinearNetwork& network_;
  int part_;
};

bool contains(const std::vector<netlists::ElementIndex>& list, netlists::ElementIndex index) {
  return std::find(list.begin(), list.end(), index) != list.end();
}

/// Numbers the groups of deck nodes; the group of the chassis is 0.
void number_nodes(const netlists::Deck& deck, NodeGroups& groups, LinearNetwork& network) {
  const std::set<DeckNode> cores = core_nodes(deck);
  network.node_of.assign(at(deck.node_count), -1);
  std::vector<int> of_root(at(deck.node_count), -1);
  of_root[groups.root(0)] = 0;
  for (DeckNode node = 0; node < deck.node_count; ++node) {
    if (cores.contains(node)) {
      continue;
    }
    int& number = of_root[groups.root(at(node))];
    if (number < 0) {
      number = network.node_count++;
    }
    network.node_of[at(node)] = number;
  }
}

}  // namespace

LinearNetwork linear_network(const netlists::BuiltDeck& built) {
  const netlists::Deck& deck = built.deck;
  NodeGroups groups(at(deck.node_count));
  for (const netlists::Element& element : deck.elements) {
    std::visit(JoinShorts{groups}, element.data);
  }
  LinearNetwork network;
  number_nodes(deck, groups, network);
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    const auto index = static_cast<netlists::ElementIndex>(i);
    if (!contains(built.ties, index) && !contains(built.leakages, index) &&
        !contains(built.meters, index)) {
      std::visit(Collector(network, deck.elements[i].part), deck.elements[i].data);
    }
  }
  return network;
}

std::vector<int> islands_of(const LinearNetwork& network, bool through_capacitors,
                            bool through_chassis) {
  NodeGroups groups(at(network.node_count));
  const auto join = [&](const std::vector<LinearBranch>& list) {
    for (const LinearBranch& branch : list) {
      if (through_chassis || (branch.a != 0 && branch.b != 0)) {
        groups.join(at(branch.a), at(branch.b));
      }
    }
  };
  join(network.resistors);
  join(network.inductors);
  if (through_capacitors) {
    join(network.capacitors);
  }
  std::vector<int> island;
  for (std::size_t node = 0; node < at(network.node_count); ++node) {
    island.push_back(static_cast<int>(groups.root(node)));
  }
  return island;
}

}  // namespace firstglow::sim
