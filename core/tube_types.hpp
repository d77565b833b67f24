#pragma once
/// @file
/// Which published figures stand behind a rectifier tube such as 5U4GB or 866A?
///
/// Each figure's place and how it was read stand under the key of the tube in docs/references.md.
/// Figures from memory are defaults that a record can replace; what is empty is not known here and
/// gives "no verdict".

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/rectifier_parts.hpp"

namespace firstglow::core {

struct VacuumRectifierType {
  std::string_view name;
  double heater_v, heater_a;
  bool direct;             ///< filament
  bool cathode_at_heater;  ///< filament, or a cathode joined to the heater inside the tube
  double warm_up_s;
  double drop_v, drop_a;  ///< of one plate
  double piv_v, dc_a, capacitor_dc_a;
  double steady_peak_a;
  std::optional<double> hot_switching_a, largest_f, heater_cathode_v;
  std::vector<PlateOhms> least_plate_ohms;
  std::string_view source;
};

/// Ratings up to one temperature of the condensed mercury.
struct MercuryClass {
  MercuryLimit up_to;
  double piv_v, average_a, peak_a;
};

struct GasRectifierType {
  std::string_view name;
  double heater_v, heater_a;
  double warm_up_s;                   ///< filament volts before plate volts, every start
  std::optional<double> first_use_s;  ///< the same before first use and after moving
  double drop_v;
  std::optional<double> surge_a;
  std::vector<MercuryClass> classes;  ///< coolest first; the one used unless a record says
  std::size_t usual_class;
  std::string_view source;
};

[[nodiscard]] const std::vector<VacuumRectifierType>& vacuum_rectifier_types();
[[nodiscard]] const std::vector<GasRectifierType>& gas_rectifier_types();

/// nullptr when the library has no such type; upper and lower case are the same. A name in use for
/// the same tube (GZ34, EZ81) counts.
[[nodiscard]] const VacuumRectifierType* find_vacuum_rectifier_type(std::string_view name);
[[nodiscard]] const GasRectifierType* find_gas_rectifier_type(std::string_view name);

/// Known names, nearest to `name` first when something is near, else all.
[[nodiscard]] std::vector<std::string> vacuum_rectifier_types_near(std::string_view name);
[[nodiscard]] std::vector<std::string> gas_rectifier_types_near(std::string_view name);

}  // namespace firstglow::core
