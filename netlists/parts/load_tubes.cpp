// Regulator tubes and the tubes that draw. Models: docs/methods/regulators.md,
// docs/methods/power_tubes.md.
#include <algorithm>
#include <cmath>

#include "netlists/parts/assembly.hpp"

namespace firstglow::netlists {
namespace {

// A glow's own diode only keeps current from flowing backwards; its drop is taken off the source.
constexpr double kGlowSaturationA = 1e-12;
constexpr double kGlowEmission = 1.0;
constexpr double kThermalV = 0.025865;  // kT/q at 27 C, the solver's temperature
constexpr double kLeastGlowOhm = 1.0;

// A drive holds the grid no further negative than this many times its published bias: grid-leak
// volts come from the drive's own peaks. Common practice, no source.
constexpr double kDriveLimit = 3.0;
// Foot of the driven screen's law, small against any screen volts [V].
constexpr double kDrivenTailV = 0.5;

// A keyed cathode is bypassed for radio frequency; without, the open key has no conductance for the
// solver to hold on to. Common practice, no source.
constexpr double kKeyBypassFarad = 1e-9;

constexpr int kPlate = 0, kScreen = 1, kGrid = 2, kKey = 3;

/// Deck nodes of the electrodes; a node with a fault or an open key in it is one of its own.
struct Electrodes {
  DeckNode plate, screen, grid, cathode;
};

/// Tubes in parallel as one.
core::TubeLaw law_of(const core::PowerTube& tube) {
  core::TubeLaw law = tube.law;
  law.perveance *= tube.count;
  return law;
}

/// Two nodes may be one in the record (a grid on its cathode): then nothing flows between them.
void add_current(Assembly& assembly, int section, DeckNode a, DeckNode b, ElementData data) {
  if (a != b) {
    assembly.carries_current(assembly.add(data), section);
  }
}

void add_by_volts(Assembly& assembly, const core::PowerTube& tube, const Electrodes& at) {
  const core::TubeLaw law = law_of(tube);
  if (tube.triode) {
    add_current(
        assembly, kPlate, at.plate, at.cathode,
        SpaceCurrentElement{at.plate, at.cathode, at.grid, at.plate, at.plate, kSpaceWhole, law});
    return;
  }
  add_current(
      assembly, kPlate, at.plate, at.cathode,
      SpaceCurrentElement{at.plate, at.cathode, at.grid, at.screen, at.plate, kSpacePlate, law});
  add_current(
      assembly, kScreen, at.screen, at.cathode,
      SpaceCurrentElement{at.screen, at.cathode, at.grid, at.screen, at.plate, kSpaceScreen, law});
}

/// Screen current of a driven tube: its space current follows the screen volts alone, the drive
/// being what it is, and turns to the screen as the plate volts go.
core::TubeLaw driven_screen_law(const core::PowerTube& tube, const core::DrivenPoint& point) {
  const core::ClassAPoint as_diode{point.plate.si(),
                                   point.screen.si(),
                                   0.0,
                                   point.plate_current.si(),
                                   point.screen_current.si(),
                                   0.0,
                                   1.0};
  core::TubeLaw law;
  law.mu = 1.0;
  law.tail_v = kDrivenTailV;
  core::split_through(as_diode, law);
  const double space_a = point.plate_current.si() + point.screen_current.si();
  law.perveance = tube.count * space_a / std::pow(point.screen.si(), 1.5);
  return law;
}

void add_driven(Assembly& assembly, const core::PowerTube& tube, const Electrodes& at) {
  const core::DrivenPoint& point = *tube.driven;
  const double plate_ohm = point.plate.si() / (point.plate_current.si() * tube.count);
  add_current(assembly, kPlate, at.plate, at.cathode,
              ResistorElement{at.plate, at.cathode, plate_ohm});
  if (!tube.triode && point.screen_current.si() > 0.0) {
    add_current(assembly, kScreen, at.screen, at.cathode,
                SpaceCurrentElement{at.screen, at.cathode, at.cathode, at.screen, at.plate,
                                    kSpaceScreen, driven_screen_law(tube, point)});
  }
  if (point.grid_current.si() > 0.0 && point.bias.si() > 0.0) {
    add_current(assembly, kGrid, at.grid, at.cathode,
                GridDriveElement{at.grid, at.cathode, point.grid_current.si() * tube.count,
                                 kDriveLimit * point.bias.si()});
  }
}

}  // namespace

void build(Assembly& assembly, const core::VrTube& tube) {
  const DeckNode plus = assembly.node(tube.plus);
  const DeckNode minus = assembly.node(tube.minus);
  if (!assembly.situation().lit.contains(assembly.part_record().designator)) {
    const ElementIndex dark = assembly.add(ResistorElement{plus, minus, kDarkOhm});
    assembly.built().leakages.push_back(dark);
    assembly.carries_current(dark);
    return;
  }
  const double middle_a = 0.5 * (tube.least.si() + tube.most.si());
  const double ohm =
      std::max(kLeastGlowOhm, tube.regulation.si() / (tube.most.si() - tube.least.si()));
  const double diode_v = kGlowEmission * kThermalV * std::log1p(middle_a / kGlowSaturationA);
  const DeckNode inner = assembly.new_node();
  const ElementIndex source =
      assembly.add(DcSourceElement{plus, inner, tube.run.si() - middle_a * ohm - diode_v});
  assembly.add(DiodeElement{inner, minus, kGlowSaturationA, kGlowEmission, ohm, 0.0});
  assembly.built().lit.insert(assembly.part);
  assembly.carries_current(source);
}

void build(Assembly& assembly, const core::PowerTube& tube) {
  const Situation& situation = assembly.situation();
  const std::string& name = assembly.part_record().designator;
  const bool key_up = situation.stage != Stage::key_down;
  Electrodes at{assembly.node(tube.plate), 0, assembly.node(tube.grid),
                assembly.node(tube.cathode)};
  at.screen = tube.triode ? at.plate : assembly.node(tube.screen);
  const DeckNode cathode_lead = at.cathode;
  if (tube.key == core::TubeKey::cathode) {
    at.cathode = assembly.new_node();
  }
  if (situation.plate_open.contains(name)) {
    at.plate = assembly.new_node();
  }
  const bool unbiased = situation.unbiased.contains(name);
  if (unbiased) {
    at.grid = 0;
  }
  if (tube.key == core::TubeKey::screen && key_up) {
    at.screen = at.cathode;
  }
  const bool driven = !key_up && tube.driven && !unbiased;
  if (driven) {
    add_driven(assembly, tube, at);
  } else {
    add_by_volts(assembly, tube, at);
  }
  if (tube.key == core::TubeKey::cathode) {
    const ElementIndex key =
        assembly.add(ResistorElement{at.cathode, cathode_lead, key_up ? kOpenKeyOhm : kLeastOhm});
    assembly.carries_current(key, kKey);
    assembly.add(CapacitorElement{at.cathode, cathode_lead, kKeyBypassFarad});
  }
  const bool off = key_up && tube.key != core::TubeKey::none;
  assembly.built().tubes[assembly.part] =
      driven ? TubeRole::driven : (off ? TubeRole::keyed_off : TubeRole::by_volts);
}

}  // namespace firstglow::netlists
