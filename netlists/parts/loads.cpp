// What the tubes draw. Models: docs/methods/loads.md, docs/methods/lamp_and_heater.md.
#include <algorithm>

#include "netlists/parts/assembly.hpp"

namespace firstglow::netlists {
namespace {

// A current load lets go below about this voltage [V] (common practice, no source).
constexpr double kLoadKneeV = 20.0;

}  // namespace

void build(Assembly& assembly, const core::ResistiveLoad& load) {
  assembly.carries_current(
      assembly.add(ResistorElement{assembly.node(load.plus), assembly.node(load.minus),
                                   std::max(assembly.value(load.value), kLeastOhm)}));
}

void build(Assembly& assembly, const core::CurrentLoad& load) {
  assembly.carries_current(
      assembly.add(CurrentSinkElement{assembly.node(load.plus), assembly.node(load.minus),
                                      assembly.value(load.value), kLoadKneeV}));
}

void build(Assembly& assembly, const core::Heater& heater) {
  const DeckNode a = assembly.node(heater.a);
  const DeckNode b = assembly.node(heater.b);
  const std::string& name = assembly.part_record().designator;
  const double hot_ohm = heater.hot.si();
  if (heater.hot > heater.cold) {
    const TungstenParameters wire = tungsten_of(heater);
    const double start_k = assembly.situation().heaters_hot ? wire.hot_k : kRoomKelvin;
    assembly.carries_current(assembly.add_wire(a, b, wire, name, hot_ohm, start_k));
    return;
  }
  // A wire that does not change with temperature.
  const auto held = assembly.situation().held_ohm.find(name);
  const bool given = held != assembly.situation().held_ohm.end();
  assembly.carries_current(assembly.add(ResistorElement{a, b, given ? held->second : hot_ohm}));
}

}  // namespace firstglow::netlists
