#pragma once
/// @file
/// What does a record say of regulator tubes and of the tubes that draw from the supplies?

#include <optional>
#include <string>

#include "core/load_tube_law.hpp"
#include "core/load_tube_types.hpp"
#include "core/node_index.hpp"
#include "core/units.hpp"

namespace firstglow::core {

/// A gas-filled voltage regulator tube (vr tube).
struct VrTube {
  NodeIndex plus = kOpenNode, minus = kOpenNode;
  Volts run;         ///< at the middle of the current window
  Volts strike;      ///< at which it has struck for certain
  Volts regulation;  ///< rise of the run volts from the least to the most current
  Amps least, most;  ///< window in which it regulates
};

/// What the key opens.
enum class TubeKey { none, cathode, screen };

/// Grid-controlled tubes in parallel that draw from the supplies.
struct PowerTube {
  NodeIndex plate = kOpenNode, screen = kOpenNode, grid = kOpenNode, cathode = kOpenNode;
  int count = 1;  ///< like tubes in parallel
  TubeKey key = TubeKey::none;
  bool triode = false;
  TubeLaw law;                        ///< of one tube
  std::optional<DrivenPoint> driven;  ///< of one tube; empty: at key down it follows its grid volts
  TubeRatings ratings;                ///< of one tube
  std::string ratings_source;
};

}  // namespace firstglow::core
