// Model: docs/methods/rectifier.md.
#include "netlists/parts/assembly.hpp"

namespace firstglow::netlists {

// n equal diodes in series carry one current at n times the volts: emission and series ohms n
// times, junction capacitance 1/n, saturation current unchanged. Exact for equal diodes.
void build(Assembly& assembly, const core::SiliconDiode& diode) {
  const double n = diode.in_series;
  assembly.carries_current(assembly.add(
      DiodeElement{assembly.node(diode.anode), assembly.node(diode.cathode), diode.saturation_a,
                   n * diode.emission, n * diode.series_ohm, diode.junction_f / n}));
}

}  // namespace firstglow::netlists
