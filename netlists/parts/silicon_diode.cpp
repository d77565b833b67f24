// Model: docs/methods/rectifier.md.
#include "netlists/parts/assembly.hpp"

namespace firstglow::netlists {

namespace {

/// Ohms of a snubber's capacitor and leads, so that no capacitance meets a winding without any.
constexpr double kSnubberOhm = 1.0;

}  // namespace

// n equal diodes in series carry one current at n times the volts: emission and series ohms n
// times, junction capacitance 1/n, saturation current unchanged. Exact for equal diodes.
void build(Assembly& assembly, const core::SiliconDiode& diode) {
  const double n = diode.in_series;
  const DeckNode anode = assembly.node(diode.anode);
  const DeckNode cathode = assembly.node(diode.cathode);
  assembly.carries_current(
      assembly.add(DiodeElement{anode, cathode, diode.saturation_a, n * diode.emission,
                                n * diode.series_ohm, diode.junction_f / n}));
  if (diode.equaliser) {
    assembly.add(ResistorElement{anode, cathode, n * diode.equaliser->si()});
  }
  // Its microcoulombs are left out of a discharge: there it would only add a state of no weight.
  if (diode.snubber && assembly.situation().mains_on) {
    const DeckNode middle = assembly.new_node();
    assembly.add(ResistorElement{anode, middle, n * kSnubberOhm});
    assembly.add(CapacitorElement{middle, cathode, diode.snubber->si() / n});
  }
}

}  // namespace firstglow::netlists
