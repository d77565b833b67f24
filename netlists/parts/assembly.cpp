#include "netlists/parts/assembly.hpp"

#include <algorithm>

namespace firstglow::netlists {
namespace {

template <class Kind>
bool has_kind(const core::Rig& rig) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [](const core::Part& part) {
    return std::holds_alternative<Kind>(part.data);
  });
}

}  // namespace

bool Assembly::has_variac() const { return has_kind<core::Variac>(rig_); }

bool Assembly::has_series_lamp() const { return has_kind<core::SeriesLamp>(rig_); }

DeckNode Assembly::node(core::NodeIndex index) {
  if (index == core::kOpenNode) {
    return new_node();
  }
  std::optional<DeckNode>& known = built_.node_of.at(static_cast<std::size_t>(index));
  if (!known) {
    known = new_node();
  }
  return *known;
}

ElementIndex Assembly::add_wire(DeckNode a, DeckNode b, const TungstenParameters& wire,
                                const std::string& name, double default_ohm, double start_k) {
  if (situation_.thermal == ThermalMode::moving) {
    return add(ThermalResistorElement{.a = a,
                                      .b = b,
                                      .cold_ohm = wire.cold_ohm,
                                      .exponent = kTungstenExponent,
                                      .hot_k = wire.hot_k,
                                      .hot_w = wire.hot_w,
                                      .heat_j_per_k = wire.heat_j_per_k,
                                      .start_k = start_k});
  }
  const auto held = situation_.held_ohm.find(name);
  return add(ResistorElement{a, b, held == situation_.held_ohm.end() ? default_ohm : held->second});
}

}  // namespace firstglow::netlists
