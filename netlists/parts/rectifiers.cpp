// Tube and selenium rectifiers. Models: docs/methods/tube_rectifiers.md.
#include <algorithm>
#include <cmath>

#include "netlists/parts/assembly.hpp"
#include "netlists/rectifier_model.hpp"

namespace firstglow::netlists {
namespace {

void add_heater(Assembly& assembly, const core::RectifierHeater& heater) {
  const TungstenParameters wire = tungsten_of(heater);
  const double start_k = assembly.situation().heaters_hot ? wire.hot_k : kRoomKelvin;
  assembly.carries_current(
      assembly.add_wire(assembly.node(heater.a), assembly.node(heater.b), wire,
                        assembly.part_record().designator, heater.hot().si(), start_k),
      kRectifierHeaterSection);
}

bool is_cold(const Assembly& assembly) {
  return assembly.situation().cold_rectifiers.contains(assembly.part_record().designator);
}

}  // namespace

void build(Assembly& assembly, const core::VacuumRectifier& tube) {
  const double perveance = perveance_of(tube);
  const DeckNode cathode = assembly.node(tube.cathode);
  int section = 0;
  for (const core::RectifierPath& path : core::rectifier_paths(assembly.part_record())) {
    const DeckNode plate = assembly.node(path.anode);
    if (!is_cold(assembly)) {
      assembly.carries_current(assembly.add(VacuumDiodeElement{plate, cathode, perveance}),
                               section);
    }
    ++section;
  }
  add_heater(assembly, tube.heater);
}

void build(Assembly& assembly, const core::GasRectifier& tube) {
  const DeckNode plate = assembly.node(tube.plate);
  const DeckNode cathode = assembly.node(tube.cathode);
  if (!is_cold(assembly)) {
    const ArcModel arc = arc_of(tube);
    const DeckNode middle = assembly.new_node();
    assembly.carries_current(assembly.add(
        DiodeElement{plate, middle, arc.saturation_a, arc.emission, arc.series_ohm, 0.0}));
    assembly.add(DcSourceElement{middle, cathode, arc.back_v});
  }
  add_heater(assembly, tube.heater);
}

void build(Assembly& assembly, const core::SeleniumRectifier& stack) {
  const SeleniumModel plate = selenium_plate_of(stack);
  const double n = stack.plates;
  assembly.carries_current(assembly.add(
      DiodeElement{assembly.node(stack.anode), assembly.node(stack.cathode), plate.saturation_a,
                   n * plate.emission, n * plate.series_ohm, 0.0}));
}

}  // namespace firstglow::netlists
