// Inlet, fuse, series lamp and variac. Models: docs/methods/mains_side.md.
#include <algorithm>
#include <cmath>
#include <utility>

#include "netlists/parts/assembly.hpp"
#include "netlists/thermistor.hpp"

namespace firstglow::netlists {
namespace {

// The variac's own magnetising current is left out; this only closes its network [ohm].
constexpr double kVariacShuntOhm = 10e6;

/// The test lamp of the situation between two nodes.
void add_lamp(Assembly& assembly, DeckNode a, DeckNode b) {
  const TungstenParameters wire = tungsten_of(*assembly.situation().lamp);
  assembly.built().lamp = assembly.add_wire(a, b, wire, "lamp", wire.cold_ohm, kRoomKelvin);
}

}  // namespace

void build(Assembly& assembly, const core::MainsInlet& inlet) {
  const Situation& situation = assembly.situation();
  BuiltDeck& built = assembly.built();
  const DeckNode line = assembly.node(inlet.line);
  const DeckNode neutral = assembly.node(inlet.neutral);
  built.mains_a = line;
  built.mains_b = neutral;
  if (!assembly.has_variac()) {
    built.variac_out_a = line;
    built.variac_out_b = neutral;
  }
  if (!situation.mains_on) {
    return;
  }
  const double scale = assembly.has_variac() ? 1.0 : situation.variac_setting;
  const core::Volts peak = core::peak_of_sine(situation.line.value_or(inlet.nominal) * scale);
  const DeckNode source = assembly.new_node();
  built.mains_source = assembly.add(SineSourceElement{
      source, neutral, peak.si(), inlet.frequency.si(), situation.closing_angle_deg});
  const bool lamp_here = situation.lamp && !assembly.has_series_lamp();
  const DeckNode socket = lamp_here ? assembly.new_node() : line;
  const ElementIndex wiring = assembly.add(
      ResistorElement{source, socket, std::max(inlet.source_resistance.si(), kLeastOhm)});
  assembly.carries_current(wiring);
  if (lamp_here) {
    built.mains_a = socket;
    if (!assembly.has_variac()) {
      built.variac_out_a = socket;
    }
    const int inlet_part = std::exchange(assembly.part, -1);
    add_lamp(assembly, socket, line);
    assembly.part = inlet_part;
  }
  if (neutral != 0) {
    // The service bonds neutral to earth, and the chassis is earthed.
    assembly.add(ResistorElement{neutral, 0, kLeastOhm});
  }
}

void build(Assembly& assembly, const core::Fuse& fuse) {
  assembly.carries_current(
      assembly.add(ResistorElement{assembly.node(fuse.a), assembly.node(fuse.b),
                                   std::max(fuse.cold_resistance.si(), kLeastOhm)}));
}

void build(Assembly& assembly, const core::NtcLimiter& part) {
  const DeckNode a = assembly.node(part.a);
  const DeckNode b = assembly.node(part.b);
  const Situation& situation = assembly.situation();
  if (situation.thermal == ThermalMode::moving) {
    const ThermistorParameters law = thermistor_of(part);
    assembly.carries_current(assembly.add(
        NtcElement{a, b, law.cold_ohm, law.beta_k, law.w_per_k, law.heat_j_per_k,
                   situation.thermistors_hot ? hot_kelvin(part) : kThermistorRoomKelvin}));
    return;
  }
  // A switch-on with held resistances is over long before the part has warmed; the hot ohms are
  // the dangerous side there, and the settled ones come from the caller in a steady state.
  const auto held = situation.held_ohm.find(assembly.part_record().designator);
  const double usual_ohm = situation.mains_on ? part.hot.si() : part.cold.si();
  assembly.carries_current(assembly.add(
      ResistorElement{a, b, held == situation.held_ohm.end() ? usual_ohm : held->second}));
}

void build(Assembly& assembly, const core::StepStart& part) {
  // Unplugged, the relay has fallen open.
  const Situation& situation = assembly.situation();
  const bool bridged = situation.mains_on && situation.step_relay == StepRelay::closed;
  assembly.carries_current(assembly.add(
      ResistorElement{assembly.node(part.a), assembly.node(part.b),
                      bridged ? kLeastOhm : std::max(part.resistance.si(), kLeastOhm)}));
}

void build(Assembly& assembly, const core::SeriesLamp& lamp) {
  const DeckNode a = assembly.node(lamp.a);
  const DeckNode b = assembly.node(lamp.b);
  if (!assembly.situation().lamp) {
    assembly.carries_current(assembly.add(ResistorElement{a, b, kLeastOhm}));
    return;
  }
  add_lamp(assembly, a, b);
  assembly.carries_current(*assembly.built().lamp);
}

// An ideal ratio without isolation: two windings on one hidden node (the same device as a
// transformer core). The copper of the track: with setting s and output current i the part above
// the brush carries s i, the part below (1 - s) i, so the heat is i^2 R s (1 - s), as of one
// resistance R s (1 - s) at the brush. Above s = 1 it is R s (s - 1) in the same way.
void build(Assembly& assembly, const core::Variac& variac) {
  const double setting = assembly.situation().variac_setting;
  const DeckNode input = assembly.node(variac.input);
  const DeckNode output = assembly.node(variac.output);
  const DeckNode common = assembly.node(variac.common);
  const DeckNode hidden = assembly.new_node();
  assembly.add(ResistorElement{hidden, 0, kVariacShuntOhm});
  assembly.add(WindingElement{input, common, hidden, 1.0, kLeastOhm});
  const double track_ohm =
      variac.winding_resistance.value_or(core::Ohms()).si() * std::abs(setting * (1.0 - setting));
  // seen from the common end, so that its current is the one that leaves at the brush
  assembly.carries_current(
      assembly.add(WindingElement{common, output, hidden, -setting,
                                  std::max(variac.output_resistance.si() + track_ohm, kLeastOhm)}));
  assembly.built().variac_out_a = output;
  assembly.built().variac_out_b = common;
}

}  // namespace firstglow::netlists
