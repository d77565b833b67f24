#pragma once
/// @file
/// Which solver vectors hold the wanted voltages, currents and states, and how are they read?
///
/// Currents are taken so that they obey Kirchhoff's law at every point: resistors, diodes,
/// sinks and thermal resistors from the node voltages and their own law, sources and coils from
/// the solver's branch currents, capacitors from the solver's companion model.

#include <cstddef>
#include <string>
#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::sim {

class Probes {
 public:
  explicit Probes(const netlists::Deck& deck) : deck_(deck) {}

  /// Each asks for the vectors it needs; call before vectors().
  void want_node(netlists::DeckNode node);
  void want_current(netlists::ElementIndex element);
  void want_state(netlists::ElementIndex element);

  /// Names of the vectors to save, each once, in order of asking.
  [[nodiscard]] const std::vector<std::string>& vectors() const { return names_; }

  using Columns = std::vector<std::vector<double>>;  ///< as vectors()
  /// v(a) - v(b) at every point; not both may be the chassis.
  [[nodiscard]] std::vector<double> volts(const Columns& columns, netlists::DeckNode a,
                                          netlists::DeckNode b) const;
  [[nodiscard]] std::vector<double> current_a(const Columns& columns,
                                              netlists::ElementIndex element) const;
  /// State of the element at the last point.
  [[nodiscard]] double final_state(const Columns& columns, netlists::ElementIndex element) const;

 private:
  friend struct CurrentReader;
  void want(const std::string& name);
  [[nodiscard]] const std::vector<double>& column(const Columns& columns,
                                                  const std::string& name) const;
  [[nodiscard]] const netlists::ElementData& data(netlists::ElementIndex element) const;
  /// v(a) - v(b) with names as the deck has them; "0" is the chassis.
  [[nodiscard]] std::vector<double> difference(const Columns& columns, const std::string& a,
                                               const std::string& b) const;

  const netlists::Deck& deck_;
  std::vector<std::string> names_;
};

}  // namespace firstglow::sim
