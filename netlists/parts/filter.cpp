// Resistor, capacitor and choke. Models: docs/methods/filter.md.
#include <algorithm>
#include <numbers>

#include "netlists/coils.hpp"
#include "netlists/parts/assembly.hpp"
#include "netlists/transformer_model.hpp"

namespace firstglow::netlists {
namespace {

// Core-loss resistance of a choke over its reactance at twice the mains frequency (order of size
// from memory); it also damps what the rectifier leaves behind when it stops conducting.
constexpr double kChokeLossFactor = 30.0;

}  // namespace

void build(Assembly& assembly, const core::Resistor& resistor) {
  assembly.carries_current(
      assembly.add(ResistorElement{assembly.node(resistor.a), assembly.node(resistor.b),
                                   std::max(assembly.value(resistor.value), kLeastOhm)}));
}

void build(Assembly& assembly, const core::Capacitor& capacitor) {
  const DeckNode plus = assembly.node(capacitor.plus);
  const DeckNode minus = assembly.node(capacitor.minus);
  const DeckNode plate = assembly.new_node();
  assembly.carries_current(
      assembly.add(ResistorElement{plus, plate, std::max(capacitor.esr.si(), kLeastOhm)}));
  assembly.add(CapacitorElement{plate, minus, assembly.value(capacitor.value)});
  if (capacitor.leakage && capacitor.working_volts && capacitor.leakage->si() > 0.0) {
    const double ohm = capacitor.working_volts->si() / capacitor.leakage->si();
    assembly.built().leakages.push_back(assembly.add(ResistorElement{plate, minus, ohm}));
  }
}

void build(Assembly& assembly, const core::Choke& choke) {
  const DeckNode a = assembly.node(choke.a);
  const DeckNode b = assembly.node(choke.b);
  const DeckNode winding = assembly.new_node();
  const double henry = assembly.value(choke.value);
  const double reactance_ohm =
      2.0 * std::numbers::pi * 2.0 * assembly.rig().mains().frequency.si() * henry;
  const double copper_ohm =
      choke.dc_resistance.si() * copper_factor(assembly.situation().winding_rise_k);
  assembly.carries_current(
      assembly.add(ResistorElement{a, winding, std::max(copper_ohm, kLeastOhm)}));
  if (!swings(choke)) {
    assembly.add(InductorElement{winding, b, henry});
  } else if (assembly.situation().mains_on) {
    const SwingLaw law = swing_law(choke, henry);
    assembly.add(SinhCoilElement{winding, b, law.scale_a, law.scale_vs});
  } else {
    // Unplugged: the network stays linear, with the inductance at no current, which holds the
    // volts up longest.
    assembly.add(InductorElement{winding, b, swing_law(choke, henry).henry_at_rest()});
  }
  assembly.add(ResistorElement{winding, b, kChokeLossFactor * reactance_ohm});
}

}  // namespace firstglow::netlists
