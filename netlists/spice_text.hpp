#pragma once
/// @file
/// How does a Deck read as SPICE text? For the worker, and for a deck a person runs elsewhere.
///
/// Every name is a letter and a number and every value is printed by std::to_chars after a
/// check, so nothing a user wrote can become a command. Only note() carries words; it keeps
/// letters, digits and a few harmless signs and always writes a comment that stock ngspice
/// does not execute (`* text`, never `*#`).
///
/// Names: node 3 is `n3`; element 7 is its SPICE letter and 7 (`d7`); the inner node of element
/// 7 (cathode side of a diode's junction, temperature of a thermal resistor or thermistor, flux of
/// a coil with iron) is `x7`.
/// An element's text starts with its letter, so `r7` may also be the series part of diode `d7`.

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::netlists {

using SpiceLines = std::vector<std::string>;

/// The transient analysis, always from the start values of the deck (`uic`).
struct SpiceTransient {
  double stop_s = 0.0;       ///< > 0
  double max_step_s = 0.0;   ///< > 0
  double keep_from_s = 0.0;  ///< >= 0, < stop_s
  bool gear = false;  ///< false: trapezoidal damped by xmu = 0.49, which rings far less than 0.5
};

/// Notes put as comments before the lines of an element; none when empty.
using ElementNotes = std::function<std::vector<std::string>(ElementIndex)>;

/// A number SPICE reads back, never with a suffix. @throws ContractError when not finite.
[[nodiscard]] std::string spice_number(double value);
[[nodiscard]] std::string spice_node(DeckNode node);
/// Voltage between two nodes as an expression of a B source.
[[nodiscard]] std::string spice_volts_between(DeckNode a, DeckNode b);
[[nodiscard]] std::string spice_element(const Deck& deck, ElementIndex element);
/// Inner node of a diode, coil, thermistor or thermal resistor. @throws ContractError for other
/// elements.
[[nodiscard]] std::string spice_inner_node(const Deck& deck, ElementIndex element);
/// Comment line; characters outside letters, digits, blank and `.,:=+-()/_%` become `?`.
[[nodiscard]] std::string spice_comment(std::string_view text);

/// All elements and diode models. @throws ContractError when check_deck() does.
[[nodiscard]] SpiceLines spice_elements(const Deck& deck, const ElementNotes& notes = {});
/// `.options` and `.tran`. @throws ContractError when a time is out of range.
[[nodiscard]] SpiceLines spice_analysis(const SpiceTransient& transient);
/// `.save` cards, some names each. `names` are solver vectors such as `n3` or `v7#branch`.
[[nodiscard]] SpiceLines spice_save(const std::vector<std::string>& names);
/// Title, elements, analysis, `.save` (none: everything) and `.end`. The title is cleaned as a
/// comment is and stands behind the word `deck`.
[[nodiscard]] SpiceLines spice_deck(std::string_view title, const Deck& deck,
                                    const SpiceTransient& transient,
                                    const std::vector<std::string>& save,
                                    const ElementNotes& notes = {});

/// Second lock before the solver: refuses any line that could be more than an element, a
/// `.model`, `.options`, `.save`, `.tran` or `.end` card. The first line is a title of letters,
/// digits and blanks. @throws ContractError
void require_plain_spice(const SpiceLines& lines);

}  // namespace firstglow::netlists
