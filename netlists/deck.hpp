#pragma once
/// @file
/// Which circuit does the solver get? Typed elements and numbers only; no user text.
///
/// Nodes are small integers, 0 is the chassis. Elements are known by their index. Every value
/// is checked by check_deck() before it may become text (netlists/spice_text.hpp).

#include <string>
#include <variant>
#include <vector>

#include "core/load_tube_law.hpp"

namespace firstglow::netlists {

using DeckNode = int;
using ElementIndex = int;

struct ResistorElement {
  DeckNode a, b;
  double ohm;  ///< > 0
};
struct CapacitorElement {
  DeckNode a, b;
  double farad;          ///< > 0
  double start_v = 0.0;  ///< v(a) - v(b) at t = 0
};
struct InductorElement {
  DeckNode a, b;
  double henry;          ///< > 0
  double start_a = 0.0;  ///< current a -> b at t = 0
};
/// v(a) - v(b) = (peak_v + ramp_v_per_s t) sin(2 pi hz t + phase)
struct SineSourceElement {
  DeckNode a, b;
  double peak_v, hz, phase_deg;
  double ramp_v_per_s = 0.0;  ///< of the amplitude: a variac being turned
};
/// v(a) - v(b) = volts; with volts = 0 an ammeter.
struct DcSourceElement {
  DeckNode a, b;
  double volts;
};
struct DiodeElement {
  DeckNode anode, cathode;
  double saturation_a, emission, series_ohm, junction_f;
};
/// Space-charge law: perveance * max(v, 0)^1.5 from anode to cathode [A / V^1.5].
struct VacuumDiodeElement {
  DeckNode anode, cathode;
  double perveance;  ///< > 0
};
/// v(a) - v(b) = gain * v(control)   (control node against chassis)
struct VoltageFollowerElement {
  DeckNode a, b;
  DeckNode control;
  double gain;
};
/// Injects gain * i(sense) into node `into` (from the chassis); `sense` is a DcSourceElement.
struct CurrentMirrorElement {
  DeckNode into;
  ElementIndex sense;
  double gain;
};
/// A winding on a core, or a length of a variac's track: v(a) - v(b) = ratio v(core) + ohm i with
/// i its current a -> b, of which ratio * i flows into the node `core` (from the chassis).
struct WindingElement {
  DeckNode a, b;
  DeckNode core;
  double ratio;
  double ohm;  ///< > 0
};
/// Draws amps * v / sqrt(v^2 + knee_v^2) from a to b: constant current above the knee.
struct CurrentSinkElement {
  DeckNode a, b;
  double amps, knee_v;
};
/// Tungsten: ohm = cold_ohm (T/300 K)^exponent, and
/// heat_j_per_k dT/dt = v^2/ohm - hot_w (T^p - 300^p) / (hot_k^p - 300^p), p = 4.195. T in K.
struct ThermalResistorElement {
  DeckNode a, b;
  double cold_ohm, exponent, hot_k, hot_w, heat_j_per_k;
  double start_k = 300.0;
};
/// Which part of a tube's space current flows into end `a` of its element?
inline constexpr int kSpaceWhole = 0, kSpacePlate = 1, kSpaceScreen = 2;
/// Space current of grid-controlled tubes by core::TubeLaw, from `a` (plate or screen) to `b` (the
/// cathode); `control` is the screen, or the plate of a triode, `plate` turns the split.
/// Falls to zero with v(a) - v(b) below core::kElectrodeGateV.
struct SpaceCurrentElement {
  DeckNode a, b;
  DeckNode grid, control, plate;
  int split = kSpaceWhole;
  core::TubeLaw law;
};
/// Average grid current of a driven tube, from grid `a` to cathode `b`; it lets go when
/// the grid has gone negative by `limit_v`.
struct GridDriveElement {
  DeckNode a, b;
  double amps;     ///< > 0
  double limit_v;  ///< > 0
};

/// An inductance whose iron saturates: flux = start_vs + integral of v(a) - v(b),
/// current a -> b as coil_amps() (netlists/coils.hpp).
struct SaturatingCoilElement {
  DeckNode a, b;
  double unsaturated_h;  ///< > air_h
  double air_h;          ///< > 0, slope beyond the knee
  double knee_vs;        ///< flux at the knee, > 0
  double width_vs;       ///< how gradual the knee is, > 0
  double start_vs = 0.0;
};
/// An inductance that falls steadily with current: amps = scale_a sinh(flux / scale_vs).
struct SinhCoilElement {
  DeckNode a, b;
  double scale_a, scale_vs;  ///< > 0
  double start_vs = 0.0;
};
/// A thermistor: ohm = cold_ohm exp(beta_k (1/T - 1/298.15 K)), and
/// heat_j_per_k dT/dt = v^2/ohm - w_per_k (T - 298.15 K).
struct NtcElement {
  DeckNode a, b;
  double cold_ohm, beta_k, w_per_k, heat_j_per_k;
  double start_k = 298.15;
};

using ElementData =
    std::variant<ResistorElement, CapacitorElement, InductorElement, SineSourceElement,
                 DcSourceElement, DiodeElement, VoltageFollowerElement, CurrentMirrorElement,
                 CurrentSinkElement, ThermalResistorElement, VacuumDiodeElement,
                 SaturatingCoilElement, SinhCoilElement, NtcElement, SpaceCurrentElement,
                 GridDriveElement, WindingElement>;

struct Element {
  int part = -1;  ///< index into Rig::parts, -1 for helpers that belong to no part
  ElementData data;
};

struct Deck {
  int node_count = 1;  ///< nodes are 0 .. node_count - 1
  std::vector<Element> elements;

  DeckNode add_node() { return node_count++; }
  ElementIndex add(int part, ElementData data) {
    elements.push_back(Element{part, data});
    return static_cast<ElementIndex>(elements.size()) - 1;
  }
};

/// The same circuit with every winding as ammeter, copper, follower and mirror, for people who read
/// the deck: the ammeter keeps the winding's index, the rest comes behind the last element.
[[nodiscard]] Deck with_ammeters(Deck deck);

/// Indices of the elements that hold a state (capacitors, inductors, coils, thermal resistors,
/// thermistors), in order.
[[nodiscard]] std::vector<ElementIndex> state_elements(const Deck& deck);
/// Start values of those elements, in the same order.
[[nodiscard]] std::vector<double> start_state(const Deck& deck);
/// Sets the start values. @throws ContractError when the size differs or a value is not finite.
void set_start_state(Deck& deck, const std::vector<double>& state);

/// @throws ContractError when a node index, a value or a sense reference is out of range.
void check_deck(const Deck& deck);

}  // namespace firstglow::netlists
