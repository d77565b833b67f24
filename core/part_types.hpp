#pragma once
/// @file
/// Which published figures stand behind a type number such as 1N4007?

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/units.hpp"

namespace firstglow::core {

/// Ratings and SPICE set of one diode. Figures whose source says "from memory" are defaults that a
/// record can replace; an empty rating is not known here and gives "no verdict".
struct DiodeType {
  std::string_view name;
  Volts piv;                            ///< VRRM
  Amps average_current;                 ///< IF(AV), resistive load
  std::optional<Amps> repetitive_peak;  ///< IFRM
  Amps surge_current;                   ///< IFSM, one 8.3 ms half sine
  double saturation_a;                  ///< IS
  double emission;                      ///< N
  double series_ohm;                    ///< RS
  double junction_f;                    ///< CJO
  std::string_view ratings_source;
  std::string_view model_source;
};

[[nodiscard]] const std::vector<DiodeType>& diode_types();

/// nullptr when the library has no such type; upper and lower case are the same.
[[nodiscard]] const DiodeType* find_diode_type(std::string_view name);

/// Known types, nearest to `name` first when something is near, else all.
[[nodiscard]] std::vector<std::string> diode_types_near(std::string_view name);

/// The set used for a diode whose record names no type: the 1N4007 set, with no ratings.
[[nodiscard]] const DiodeType& plain_diode_model();

}  // namespace firstglow::core
