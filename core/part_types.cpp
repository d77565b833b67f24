#include "core/part_types.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "core/nearest_word.hpp"

namespace firstglow::core {
namespace {

// [1N4007-DS]: VRRM 50 to 1000 V, 1.0 A at 75 C, 30 A for 8.3 ms read in several makers' sheets;
// IFRM stands in few of them.
constexpr std::string_view kFamilyRatings =
    "data sheets of several makers [1N4007-DS]; repetitive peak 10 A from memory";
constexpr std::string_view kFamilyModel =
    "SPICE set of a public model library [1N4007-SPICE]; gives 0.915 V at 1 A";
// The same types with the suffix G are rated 120 to 125 A surge by some makers: they are not
// 1N5408.
constexpr std::string_view kThreeAmpRatings =
    "data sheets of several makers [1N5408-DS]: 1000 V, 3 A at 75 C, 200 A for 8.3 ms";
constexpr std::string_view kThreeAmpModel =
    "the 1N4007 set [1N4007-SPICE] at three times the junction area (3 IS, RS / 3, 3 CJO): 0.915 V "
    "at 3 A, below the 0.95 to 1.2 V of the data sheets [1N5408-DS], so the supply comes out high";
constexpr std::string_view kFastRatings = "data sheet [UF4007-DS], from memory";
constexpr std::string_view kFastModel =
    "N 2 and RS 0.1 ohm assumed, IS solved for the largest VF of the data sheet, 1.7 V at 1 A and "
    "27 C, from memory [UF4007-DS]: IS = exp(-(1.7 V - 0.1 V) / (2 x 25.86 mV)); CJO as 1N4007";

constexpr DiodeType family(std::string_view name, double piv) {
  return {name, Volts(piv), Amps(1.0), Amps(10.0),     Amps(30.0),  76.9e-12,
          1.45, 0.042,      26.5e-12,  kFamilyRatings, kFamilyModel};
}

}  // namespace

const std::vector<DiodeType>& diode_types() {
  static const std::vector<DiodeType> kTypes{
      family("1N4001", 50.0),
      family("1N4002", 100.0),
      family("1N4003", 200.0),
      family("1N4004", 400.0),
      family("1N4005", 600.0),
      family("1N4006", 800.0),
      family("1N4007", 1000.0),
      {"1N5408", Volts(1000.0), Amps(3.0), std::nullopt, Amps(200.0), 3 * 76.9e-12, 1.45, 0.042 / 3,
       3 * 26.5e-12, kThreeAmpRatings, kThreeAmpModel},
      {"UF4007", Volts(1000.0), Amps(1.0), std::nullopt, Amps(30.0), 3.69e-14, 2.0, 0.1, 26.5e-12,
       kFastRatings, kFastModel},
  };
  return kTypes;
}

const DiodeType* find_diode_type(std::string_view name) {
  for (const DiodeType& type : diode_types()) {
    if (type.name.size() == name.size() && edit_distance(type.name, name) == 0) {
      return &type;
    }
  }
  return nullptr;
}

std::vector<std::string> diode_types_near(std::string_view name) {
  std::vector<std::string> all;
  for (const DiodeType& type : diode_types()) {
    all.emplace_back(type.name);
  }
  std::vector<std::string> near = nearest_words(name, all, 4);
  return near.empty() ? all : near;
}

const DiodeType& plain_diode_model() {
  const DiodeType* type = find_diode_type("1N4007");
  FIRSTGLOW_REQUIRE(type != nullptr, "the part library holds the 1N4007");
  return *type;
}

}  // namespace firstglow::core
