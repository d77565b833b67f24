#pragma once
/// @file
/// Which published figures stand behind a regulator or load tube such as 0A2 or 6146B?

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/load_tube_law.hpp"
#include "core/units.hpp"

namespace firstglow::core {

/// A gas-filled voltage regulator tube. Volts and amps are DC.
struct VrType {
  std::string_view name;
  Volts run;         ///< at the middle of the current window
  Volts strike;      ///< supply volts at which every tube of the type starts
  Volts regulation;  ///< change of the run volts over the window
  Amps least, most;  ///< current window
  Amps start;        ///< largest average while starting, for 10 s at most
  std::string_view source;
};

/// Limits of one class of service. An empty one is not known here and gives "no verdict".
struct TubeRatings {
  std::optional<Volts> plate_volts, screen_volts;
  std::optional<Volts> screen_volts_cut_off;  ///< with the key up and no screen current
  std::optional<Watts> plate_watts, screen_watts;
};

/// Averages of one tube driven with radio frequency at key down, class C telegraphy.
struct DrivenPoint {
  Volts plate, screen;
  Volts bias;  ///< grid volts against the cathode, written positive
  Amps plate_current, screen_current, grid_current;
  std::optional<Watts> output;
};

struct PowerTubeType {
  std::string_view name;
  bool triode = false;
  ClassAPoint point;
  double tail_v = 1.0;
  std::optional<DrivenPoint> driven;
  TubeRatings continuous;              ///< CCS, or the only ratings there are
  std::optional<TubeRatings> amateur;  ///< ICAS
  std::string_view source;
};

[[nodiscard]] const std::vector<VrType>& vr_types();
[[nodiscard]] const std::vector<PowerTubeType>& power_tube_types();

/// nullptr when the library has no such type; upper and lower case are the same.
[[nodiscard]] const VrType* find_vr_type(std::string_view name);
[[nodiscard]] const PowerTubeType* find_power_tube_type(std::string_view name);

/// Known types in words, nearest to `name` first when something is near, else all.
[[nodiscard]] std::string vr_types_near(std::string_view name);
[[nodiscard]] std::string power_tube_types_near(std::string_view name);

}  // namespace firstglow::core
