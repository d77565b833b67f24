#pragma once
/// @file
/// What current flows in a tube's deck element at given volts: as text for the solver, and as a
/// number from the solver's node volts.

#include <string>

#include "netlists/deck.hpp"

namespace firstglow::netlists {

/// Volts of a SpaceCurrentElement against its cathode end `b`.
struct TubeVolts {
  double electrode = 0.0;  ///< of end `a`
  double grid = 0.0, control = 0.0, plate = 0.0;
};

/// Current a -> b [A], 0 or more.
[[nodiscard]] double current_a(const SpaceCurrentElement& element, const TubeVolts& volts);
/// Current a -> b [A] with `grid_v` = v(a) - v(b).
[[nodiscard]] double current_a(const GridDriveElement& element, double grid_v);

/// Right side of `i=` of a B source, the same functions as above.
[[nodiscard]] std::string current_text(const SpaceCurrentElement& element);
[[nodiscard]] std::string current_text(const GridDriveElement& element);

}  // namespace firstglow::netlists
