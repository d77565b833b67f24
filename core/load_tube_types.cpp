#include "core/load_tube_types.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/nearest_word.hpp"

namespace firstglow::core {
namespace {

// Windows, run and strike volts: [VR-DS]. Slopes are the typical change over the window.
constexpr std::string_view kVrSource = "data sheets [VR-DS], from memory";

// [6146B-DS] gives gm and mu at 200/200 V, 100 mA without the grid volts; those, and the width of
// the foot, are the ones that also give the sheet's idling 13 mA at 600/180/-45 V (26 mA a pair).
constexpr ClassAPoint k6146Point{200.0, 200.0, -28.0, 0.100, 0.006, 7.0e-3, 4.5};
constexpr double k6146TailV = 9.7;
constexpr DrivenPoint k6146Driven{Volts(600.0), Volts(150.0), Volts(58.0), Amps(0.112),
                                  Amps(0.009),  Amps(0.0028), Watts(52.0)};
constexpr std::string_view k6146Source = "data sheet [6146B-DS], from memory";

constexpr ClassAPoint k6L6Point{350.0, 250.0, -18.0, 0.054, 0.0025, 5.2e-3, 8.0};

TubeRatings tetrode(double plate_v, double screen_v, double plate_w, double screen_w,
                    std::optional<Volts> cut_off = std::nullopt) {
  return {Volts(plate_v), Volts(screen_v), cut_off, Watts(plate_w), Watts(screen_w)};
}

TubeRatings triode(double plate_v, double plate_w) {
  return {Volts(plate_v), std::nullopt, std::nullopt, Watts(plate_w), std::nullopt};
}

void add_transmitting(std::vector<PowerTubeType>& types) {
  types.push_back({"6146", false, k6146Point, k6146TailV, k6146Driven,
                   tetrode(600, 250, 20, 3, Volts(400)), tetrode(750, 250, 25, 3, Volts(400)),
                   k6146Source});
  types.push_back({"6146B", false, k6146Point, k6146TailV, k6146Driven,
                   tetrode(600, 250, 27, 3, Volts(400)), tetrode(750, 250, 35, 3, Volts(400)),
                   k6146Source});
  types.push_back({"807", false, ClassAPoint{250, 250, -14, 0.072, 0.005, 6.0e-3, 8.0}, 4.0,
                   DrivenPoint{Volts(600), Volts(250), Volts(45), Amps(0.100), Amps(0.007),
                               Amps(0.0035), Watts(37.5)},
                   tetrode(600, 300, 25, 3.5), tetrode(750, 300, 30, 3.5),
                   "data sheet [807-DS], from memory"});
  // The sheet gives no grid volts with the 20 mA; these follow from an offset of about 2 V.
  types.push_back({"2E26", false, ClassAPoint{200, 160, -19, 0.020, 0.002, 3.5e-3, 6.5}, 2.0,
                   DrivenPoint{Volts(500), Volts(180), Volts(50), Amps(0.054), Amps(0.009),
                               Amps(0.0025), Watts(18)},
                   tetrode(500, 200, 10, 2.5), tetrode(600, 200, 12.5, 2.5),
                   "data sheet [2E26-DS], from memory"});
  // Triodes for class B: the point is the sheet's idling current, gm worked out without offset.
  types.push_back(
      {"811A", true, ClassAPoint{1500, 0, -4.5, 0.016, 0, 4.5e-3, 160}, 1.0,
       DrivenPoint{Volts(1500), Volts(0), Volts(70), Amps(0.173), Amps(0), Amps(0.040), Watts(200)},
       triode(1250, 45), triode(1500, 65), "data sheet [811A-DS], from memory"});
  types.push_back({"812A", true, ClassAPoint{1500, 0, -48, 0.014, 0, 5.0e-3, 29}, 1.0,
                   DrivenPoint{Volts(1500), Volts(0), Volts(120), Amps(0.173), Amps(0), Amps(0.030),
                               Watts(190)},
                   triode(1250, 45), triode(1500, 65), "data sheet [812A-DS], from memory"});
}

void add_receiving(std::vector<PowerTubeType>& types) {
  types.push_back({"6L6GC", false, k6L6Point, 3.0, std::nullopt, tetrode(500, 450, 30, 5),
                   std::nullopt, "data sheet [6L6GC-DS]; gm, mu and screen from memory"});
  types.push_back({"6AQ5", false, ClassAPoint{250, 250, -12.5, 0.045, 0.0045, 4.1e-3, 9.5}, 3.0,
                   std::nullopt, tetrode(275, 275, 12, 2), std::nullopt,
                   "receiving tube manual [RC-22], from memory"});
  types.push_back({"6V6GT", false, ClassAPoint{250, 250, -12.5, 0.045, 0.0045, 4.1e-3, 9.5}, 3.0,
                   std::nullopt, tetrode(350, 315, 14, 2.2), std::nullopt,
                   "receiving tube manual [RC-22], from memory"});
  // mu of the screen follows from an offset of about 1 V; the sheet does not give it.
  types.push_back({"6Y6", false, ClassAPoint{135, 135, -13.5, 0.058, 0.0035, 7.0e-3, 5.4}, 2.5,
                   std::nullopt, tetrode(200, 135, 12.5, 1.75), std::nullopt,
                   "receiving tube manual [RC-22], from memory"});
  types.push_back({"6CL6", false, ClassAPoint{250, 150, -3, 0.030, 0.007, 11.0e-3, 21}, 0.6,
                   std::nullopt, tetrode(300, 300, 7.5, 1.7), std::nullopt,
                   "receiving tube manual [RC-22], from memory"});
  types.push_back({"12AX7", true, ClassAPoint{250, 0, -2, 0.0012, 0, 1.6e-3, 100}, 0.3,
                   std::nullopt, triode(330, 1.2), std::nullopt,
                   "receiving tube manual [RC-22], one section, from memory"});
}

template <class Type>
const Type* find_in(const std::vector<Type>& types, std::string_view name) {
  for (const Type& type : types) {
    if (type.name.size() == name.size() && edit_distance(type.name, name) == 0) {
      return &type;
    }
  }
  return nullptr;
}

template <class Type>
std::string near_in(const std::vector<Type>& types, std::string_view name) {
  std::vector<std::string> all;
  all.reserve(types.size());
  for (const Type& type : types) {
    all.emplace_back(type.name);
  }
  const std::vector<std::string> near = nearest_words(name, all, 4);
  return fmt::format("{}", fmt::join(near.empty() ? all : near, ", "));
}

}  // namespace

const std::vector<VrType>& vr_types() {
  static const std::vector<VrType> kTypes{
      {"0A2", Volts(150), Volts(185), Volts(2), Amps(0.005), Amps(0.030), Amps(0.075), kVrSource},
      {"0B2", Volts(108), Volts(133), Volts(1), Amps(0.005), Amps(0.030), Amps(0.075), kVrSource},
      {"0A3", Volts(75), Volts(105), Volts(5), Amps(0.005), Amps(0.040), Amps(0.100), kVrSource},
      {"0C3", Volts(105), Volts(133), Volts(2), Amps(0.005), Amps(0.040), Amps(0.100), kVrSource},
      {"0D3", Volts(150), Volts(185), Volts(4), Amps(0.005), Amps(0.040), Amps(0.100), kVrSource},
  };
  return kTypes;
}

const std::vector<PowerTubeType>& power_tube_types() {
  static const std::vector<PowerTubeType> kTypes = [] {
    std::vector<PowerTubeType> types;
    add_transmitting(types);
    add_receiving(types);
    return types;
  }();
  return kTypes;
}

const VrType* find_vr_type(std::string_view name) { return find_in(vr_types(), name); }
const PowerTubeType* find_power_tube_type(std::string_view name) {
  return find_in(power_tube_types(), name);
}
std::string vr_types_near(std::string_view name) { return near_in(vr_types(), name); }
std::string power_tube_types_near(std::string_view name) {
  return near_in(power_tube_types(), name);
}

}  // namespace firstglow::core
