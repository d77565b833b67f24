#include "sim/engine/run_outcome.hpp"

#include <cmath>
#include <set>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using netlists::DeckNode;

/// Nodes an element ends at.
struct EndNodes {
  std::vector<DeckNode> operator()(const netlists::DiodeElement& e) const {
    return {e.anode, e.cathode};
  }
  std::vector<DeckNode> operator()(const netlists::VacuumDiodeElement& e) const {
    return {e.anode, e.cathode};
  }
  std::vector<DeckNode> operator()(const netlists::CurrentMirrorElement& e) const {
    return {e.into};
  }
  std::vector<DeckNode> operator()(const netlists::VoltageFollowerElement& e) const {
    return {e.a, e.b, e.control};
  }
  std::vector<DeckNode> operator()(const netlists::WindingElement& e) const {
    return {e.a, e.b, e.core};
  }
  std::vector<DeckNode> operator()(const netlists::SpaceCurrentElement& e) const {
    return {e.a, e.b, e.grid, e.control, e.plate};
  }
  template <class TwoPole>
  std::vector<DeckNode> operator()(const TwoPole& e) const {
    return {e.a, e.b};
  }
};

}  // namespace

void check_run_spec(const netlists::Deck& deck, const RunSpec& spec) {
  FIRSTGLOW_REQUIRE(std::isfinite(spec.stop_s) && spec.stop_s > 0.0, "a run ends after 0 s");
  FIRSTGLOW_REQUIRE(std::isfinite(spec.max_step_s) && spec.max_step_s > 0.0,
                    "a run has a largest step above 0 s");
  FIRSTGLOW_REQUIRE(spec.save_from_s >= 0.0 && spec.save_from_s < spec.stop_s,
                    "a run keeps points from a time between 0 and its end");
  FIRSTGLOW_REQUIRE(std::isfinite(spec.deadline_s) && spec.deadline_s > 0.0,
                    "a run has a deadline above 0 s");
  for (const DeckNode node : spec.nodes) {
    FIRSTGLOW_REQUIRE(node >= 0 && node < deck.node_count, "a wanted node belongs to the deck");
  }
  for (const netlists::ElementIndex element : spec.currents) {
    FIRSTGLOW_REQUIRE(element >= 0 && element < static_cast<int>(deck.elements.size()),
                      "a wanted current belongs to an element of the deck");
  }
  constexpr double kMostBytes = 1e9;
  const double points = (spec.stop_s - spec.save_from_s) / spec.max_step_s;
  const auto columns = static_cast<double>(1 + spec.nodes.size() + spec.currents.size());
  FIRSTGLOW_REQUIRE(points * columns * sizeof(double) < kMostBytes,
                    "a run keeps less than 1 GB; cut it into pieces by final_state");
}

std::vector<int> parts_at_failure(const netlists::Deck& deck, const RunFailure& failure) {
  std::set<int> parts;
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    const netlists::Element& element = deck.elements[i];
    bool touches = static_cast<int>(i) == failure.element;
    for (const DeckNode node : std::visit(EndNodes{}, element.data)) {
      touches = touches || (failure.node > 0 && node == failure.node);
    }
    if (touches && element.part >= 0) {
      parts.insert(element.part);
    }
  }
  return {parts.begin(), parts.end()};
}

}  // namespace firstglow::sim
