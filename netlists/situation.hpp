#pragma once
/// @file
/// How is the rig being run? Everything that is not the rig itself.
///
/// A bring-up stage, a tolerance corner, a lifted part and a switch-off are all just another
/// Situation of the same Rig; studies are lists of Situations.

#include <map>
#include <optional>
#include <set>
#include <string>

#include "core/units.hpp"

namespace firstglow::netlists {

/// Bring-up stages in order; each connects everything of the one before.
enum class Stage {
  transformer,  ///< secondaries open
  rectifier,  ///< rectifiers fitted, everything behind them lifted; a 10 Mohm meter on each output
  filter,     ///< chokes, capacitors, bleeders and equalisers connected
  tubes_out,  ///< also droppers, plain resistors and loads drawn `always`
  heaters,    ///< tubes in, heaters lit, nothing else drawing yet
  key_up,     ///< loads drawn `tubes_in` and `key_up`
  key_down,   ///< loads drawn `tubes_in` and `key_down`
};

/// A test lamp put in series with the mains at the inlet.
struct LampInSeries {
  core::Watts rated_watts;
  core::RmsVolts rated_volts;
};

/// Lamp and heater resistance: held by the caller, or moving with temperature inside the run.
enum class ThermalMode { held, moving };

struct Situation {
  Stage stage = Stage::key_down;
  bool mains_on = true;                ///< false: the inlet is unplugged (both poles open)
  std::optional<core::RmsVolts> line;  ///< open-circuit inlet volts; empty: nominal
  double variac_setting = 1.0;         ///< variac output over input, open circuit, 0 < s <= 1.2
  std::optional<LampInSeries> lamp;    ///< empty: no lamp, and a lamp in the record is bypassed
  double closing_angle_deg = 0.0;      ///< phase of the mains sine at t = 0
  /// Tolerance corner: designator -> -1 (low) .. +1 (high); absent means nominal.
  std::map<std::string, double> corner;
  std::set<std::string> lifted;  ///< designators taken out of circuit (open)
  ThermalMode thermal = ThermalMode::held;
  /// A fault: ohms put from a node (by the user's name) to the chassis.
  std::map<std::string, double> shunts;
  /// Held resistance [ohm] by designator ("lamp" for the series lamp) when thermal is `held`;
  /// absent: heaters at rated hot ohms, lamp at cold ohms.
  std::map<std::string, double> held_ohm;
  /// Designators of the vr tubes that glow; the others are dark. Steady studies find out which do
  /// (sim/studies/regulator_states.hpp); in transients all are dark unless said here.
  std::set<std::string> lit;
  std::set<std::string> unbiased;    ///< power tubes whose grid is put to the chassis (a fault)
  std::set<std::string> plate_open;  ///< power tubes whose plate lead is open (a fault)
  bool heaters_hot = false;          ///< start temperature of moving heaters: rated or room
};

/// Stage key as used on the command line and in JSON, e.g. "tubes_out".
[[nodiscard]] const char* stage_key(Stage stage);
/// Stage in words for people, e.g. "tubes out".
[[nodiscard]] const char* stage_words(Stage stage);

}  // namespace firstglow::netlists
