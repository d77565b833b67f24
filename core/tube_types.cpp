#include "core/tube_types.hpp"

#include <algorithm>

#include "core/nearest_word.hpp"

namespace firstglow::core {
namespace {

constexpr std::nullopt_t kNotKnown = std::nullopt;

PlateOhms at(double vrms, double ohm) { return {RmsVolts(vrms), Ohms(ohm)}; }

/// The names of `all` nearest to `name`; all of them when none is near.
template <class Type>
std::vector<std::string> near_names(const std::vector<Type>& all, std::string_view name) {
  std::vector<std::string> names;
  names.reserve(all.size());
  for (const Type& type : all) {
    names.emplace_back(type.name);
  }
  std::vector<std::string> near = nearest_words(name, names, 4);
  return near.empty() ? names : near;
}

template <class Type>
const Type* find_type(const std::vector<Type>& all, std::string_view name) {
  for (const Type& type : all) {
    if (type.name.size() == name.size() && edit_distance(type.name, name) == 0) {
      return &type;
    }
  }
  return nullptr;
}

}  // namespace

// clang-format off
const std::vector<VacuumRectifierType>& vacuum_rectifier_types() {
  // direct: a filament; tied: a filament, or a cathode joined to the heater inside the tube;
  // C: with a capacitor input; hot: hot-switching peak; hk: heater to cathode.
  static const std::vector<VacuumRectifierType> kTypes{
      // name   heater V, A direct  tied   warm s  drop V, A    PIV     DC A   C DC A peak A  hot A      largest C  hk V
      {"5U4GB",  5.0, 3.0,  true,  true,   3.0,  44.0, 0.225, 1550.0, 0.275, 0.275, 1.000, 4.6,       40e-6,     kNotKnown,
       {at(300, 21), at(450, 67)}, "[5U4GB-DS]"},
      {"5Z3",    5.0, 3.0,  true,  true,   3.0,  58.0, 0.225, 1550.0, 0.225, 0.225, 0.675, kNotKnown, 40e-6,     kNotKnown,
       {at(450, 75)}, "[5Z3-DS]"},
      {"5R4GY",  5.0, 2.0,  true,  true,   3.0,  67.0, 0.250, 2800.0, 0.250, 0.150, 0.650, kNotKnown, 4e-6,      kNotKnown,
       {at(900, 575)}, "[5R4GY-DS]"},
      {"5R4GYB", 5.0, 2.0,  true,  true,   3.0,  67.0, 0.250, 3100.0, 0.250, 0.150, 0.650, kNotKnown, 4e-6,      kNotKnown,
       {at(900, 575)}, "[5R4GY-DS]"},
      {"5Y3GT",  5.0, 2.0,  true,  true,   3.0,  60.0, 0.125, 1400.0, 0.125, 0.125, 0.400, 2.5,       20e-6,     kNotKnown,
       {at(350, 50)}, "[5Y3GT-DS]"},
      {"80",     5.0, 2.0,  true,  true,   3.0,  60.0, 0.125, 1400.0, 0.125, 0.125, 0.400, kNotKnown, 20e-6,     kNotKnown,
       {at(350, 50)}, "[5Y3GT-DS]"},
      {"5V4G",   5.0, 2.0,  false, true,  12.0,  25.0, 0.175, 1400.0, 0.175, 0.175, 0.525, kNotKnown, kNotKnown, kNotKnown,
       {at(375, 100)}, "[5V4G-DS]"},
      {"5AR4",   5.0, 1.9,  false, true,  15.0,  17.0, 0.225, 1500.0, 0.250, 0.250, 0.750, kNotKnown, 60e-6,     kNotKnown,
       {at(300, 50), at(400, 75), at(450, 100), at(500, 125), at(550, 175)}, "[GZ34-DS]"},
      {"GZ34",   5.0, 1.9,  false, true,  15.0,  17.0, 0.225, 1500.0, 0.250, 0.250, 0.750, kNotKnown, 60e-6,     kNotKnown,
       {at(300, 50), at(400, 75), at(450, 100), at(500, 125), at(550, 175)}, "[GZ34-DS]"},
      {"6X4",    6.3, 0.6,  false, false, 12.0,  22.0, 0.070, 1250.0, 0.070, 0.070, 0.245, 1.0,       10e-6,     450.0,
       {}, "[6X4-DS]"},
      {"6X5GT",  6.3, 0.6,  false, false, 12.0,  22.0, 0.070, 1250.0, 0.070, 0.070, 0.210, kNotKnown, kNotKnown, 450.0,
       {}, "[6X5GT-DS]"},
      {"6CA4",   6.3, 1.0,  false, false, 18.0,  20.0, 0.150, 1000.0, 0.150, 0.150, 0.450, kNotKnown, 50e-6,     500.0,
       {at(250, 150), at(300, 200), at(350, 240)}, "[EZ81-DS]"},
      {"EZ81",   6.3, 1.0,  false, false, 18.0,  20.0, 0.150, 1000.0, 0.150, 0.150, 0.450, kNotKnown, 50e-6,     500.0,
       {at(250, 150), at(300, 200), at(350, 240)}, "[EZ81-DS]"},
  };
  return kTypes;
}

const std::vector<GasRectifierType>& gas_rectifier_types() {
  using enum MercuryLimit;
  static const std::vector<GasRectifierType> kTypes{
      // name  heater V, A warm s  first use s drop V surge A   classes: PIV, average A, peak A; usual
      {"816",  2.5, 2.0,   10.0,   kNotKnown,  15.0,  kNotKnown,
       {{up_to_60_celsius, 7500.0, 0.125, 0.5}, {up_to_70_celsius, 5000.0, 0.125, 0.5}}, 1, "[816-DS]"},
      {"866A", 2.5, 5.0,   30.0,   1800.0,     15.0,  20.0,
       {{up_to_60_celsius, 10000.0, 0.25, 1.0}, {up_to_70_celsius, 5000.0, 0.25, 1.0}, {up_to_80_celsius, 2500.0, 0.5, 2.0}}, 1, "[866A-DS]"},
      {"872A", 5.0, 7.25,  60.0,   1800.0,     14.0,  kNotKnown,
       {{up_to_60_celsius, 10000.0, 1.25, 5.0}, {up_to_70_celsius, 5000.0, 1.25, 5.0}}, 1, "[872A-DS]"},
      // xenon: nothing condenses, one class for all temperatures
      {"3B28", 2.5, 5.0,   10.0,   kNotKnown,  10.0,  kNotKnown,
       {{up_to_80_celsius, 10000.0, 0.25, 1.0}}, 0, "[3B28-DS]"},
  };
  return kTypes;
}
// clang-format on

const VacuumRectifierType* find_vacuum_rectifier_type(std::string_view name) {
  return find_type(vacuum_rectifier_types(), name);
}
const GasRectifierType* find_gas_rectifier_type(std::string_view name) {
  return find_type(gas_rectifier_types(), name);
}
std::vector<std::string> vacuum_rectifier_types_near(std::string_view name) {
  return near_names(vacuum_rectifier_types(), name);
}
std::vector<std::string> gas_rectifier_types_near(std::string_view name) {
  return near_names(gas_rectifier_types(), name);
}

}  // namespace firstglow::core
