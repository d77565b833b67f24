#pragma once
/// @file
/// Rig + Situation -> Deck, and the way back from deck elements to the user's parts and nodes.

#include <map>
#include <optional>
#include <set>
#include <vector>

#include "core/rig.hpp"
#include "netlists/deck.hpp"
#include "netlists/situation.hpp"

namespace firstglow::netlists {

/// Resistance of the tie of a floating island, and of the meter at stage `rectifier` [ohm].
inline constexpr double kTieOhm = 1e9;
inline constexpr double kMeterOhm = 10e6;
/// Ohms of a key that is up, and of a vr tube that is dark.
inline constexpr double kOpenKeyOhm = 10e6;
inline constexpr double kDarkOhm = 1e9;

/// The deck element that carries a part's own current. `section` counts winding sections of a
/// transformer from 0: first the primary's, then each secondary's in order; of a power tube 0
/// plate, 1 screen, 2 grid, 3 key; 0 for other parts.
struct PartCurrent {
  int part = -1;
  int section = 0;
  ElementIndex element = -1;  ///< current a -> b (plus -> minus, anode -> cathode) of the part
};

/// What a power tube does in this circuit.
enum class TubeRole {
  by_volts,  ///< follows its grid, screen and plate volts
  driven,    ///< draws the averages of its driven point
  keyed_off  ///< its cathode or screen is opened by the key
};

struct BuiltDeck {
  Deck deck;
  std::vector<std::optional<DeckNode>> node_of;  ///< by NodeIndex; empty when not in this circuit
  std::vector<PartCurrent> currents;
  std::vector<bool> part_in;                    ///< by part index: is it in this circuit?
  ElementIndex mains_source = -1;               ///< its current is minus the mains current
  DeckNode mains_a = 0, mains_b = 0;            ///< inlet pins after the source resistance
  DeckNode variac_out_a = 0, variac_out_b = 0;  ///< where a meter on the variac output sits
  std::optional<ElementIndex> lamp;             ///< the series lamp, when one is in
  std::vector<ElementIndex> meters;             ///< 10 Mohm meters of stage `rectifier`
  /// Resistors that stand for capacitor leakage, for dark vr tubes and for open keys.
  std::vector<ElementIndex> leakages;
  std::map<int, TubeRole> tubes;   ///< power tubes of this circuit, by part index
  std::set<int> lit;               ///< part indices of the vr tubes that glow
  std::vector<ElementIndex> ties;  ///< resistors that give a floating island a DC reference

  [[nodiscard]] std::optional<ElementIndex> current_of(int part, int section = 0) const;
};

/// Which parts are in: netlists/stage_parts.hpp. Model of each kind of part: docs/methods/.
///
/// A galvanic island with no DC path to the chassis gets one resistor of kTieOhm to it (listed in
/// `ties`), so that the network always has one solution. Diodes and capacitors do not count as
/// paths. A bleed-down must leave `ties` and `leakages` out: they discharge what nothing else may.
///
/// @throws ContractError when the situation names an unknown part or a value out of range.
[[nodiscard]] BuiltDeck build_deck(const core::Rig& rig, const Situation& situation);

/// Stages this rig has, in order: a stage that would give the same circuit as the one before it
/// is left out.
[[nodiscard]] std::vector<Stage> stages_of(const core::Rig& rig);

}  // namespace firstglow::netlists
