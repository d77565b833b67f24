#pragma once
/// @file
/// Which rectifiers can a record hold, and what is known of each?
///
/// Every optional that is empty means "not known": its rule says "no verdict".

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/node_index.hpp"
#include "core/part_value.hpp"
#include "core/units.hpp"

namespace firstglow::core {

/// Silicon diode, or a string of `in_series` like ones taken as one part. In the circuit they share
/// the volts evenly; how far they may differ is a rule (sim/studies/string_sharing.hpp).
struct SiliconDiode {
  NodeIndex anode = kOpenNode, cathode = kOpenNode;
  int in_series = 1;
  std::optional<Volts> piv;             ///< VRRM of one diode
  std::optional<Amps> average_current;  ///< IF(AV)
  std::optional<Amps> repetitive_peak;  ///< IFRM
  std::optional<Amps> surge_current;    ///< IFSM, one half cycle
  std::optional<Ohms> equaliser;        ///< a resistor across each diode of a string
  Tolerance equaliser_tolerance{0.1, 0.1};
  std::optional<Farads> snubber;        ///< a capacitor across each diode
  std::optional<Amps> reverse_leakage;  ///< of the worst diode, hot
  bool avalanche = false;               ///< may break down in reverse without harm
  double saturation_a = 0.0;            ///< SPICE IS of one diode [A]
  double emission = 1.0;                ///< SPICE N
  double series_ohm = 0.0;              ///< SPICE RS of one diode [ohm]
  double junction_f = 0.0;              ///< SPICE CJO of one diode [F]
};

/// Filament or heater of a rectifier tube. Below half of its rated volts the tube is taken not to
/// conduct, above four fifths to conduct fully (common practice, no source).
struct RectifierHeater {
  NodeIndex a = kOpenNode, b = kOpenNode;
  RmsVolts rated_volts;
  Amps rated_current;   ///< rms, at rated volts
  bool direct = false;  ///< the cathode is the filament itself
  /// From cold to full conduction; of a gas tube, filament volts before plate volts, every start.
  std::optional<Seconds> warm_up;

  [[nodiscard]] Ohms hot() const { return Ohms(rated_volts.si() / rated_current.si()); }
};

/// Least supply ohms that a published table asks for at so many plate volts and below.
struct PlateOhms {
  RmsVolts up_to;  ///< open-circuit volts of one half of the winding
  Ohms least;      ///< in the way of each plate
};

/// High-vacuum rectifier tube with one or two plates; ratings of both plates together unless said.
struct VacuumRectifier {
  NodeIndex plate_1 = kOpenNode, plate_2 = kOpenNode, cathode = kOpenNode;
  RectifierHeater heater;
  Volts drop_volts;   ///< published drop of one plate ...
  Amps drop_current;  ///< ... at this current through it
  std::optional<Volts> piv;
  std::optional<Amps> dc_current;
  std::optional<Amps> capacitor_dc_current;  ///< the same with a capacitor right at the cathode
  std::optional<Amps> steady_peak;           ///< each plate
  std::optional<Amps> hot_switching_peak;    ///< each plate
  std::optional<Farads> largest_capacitor;   ///< right at the cathode
  std::vector<PlateOhms> least_plate_ohms;   ///< with a capacitor input; rising volts; may be empty
  std::optional<Volts> heater_cathode_volts;  ///< peak between the two
};

/// Upper end of the temperature of the condensed mercury that a rating holds for.
enum class MercuryLimit { up_to_60_celsius, up_to_70_celsius, up_to_80_celsius };

/// Mercury-vapour or gas-filled rectifier tube with one plate.
struct GasRectifier {
  NodeIndex plate = kOpenNode, cathode = kOpenNode;
  RectifierHeater heater;
  Volts drop_volts;  ///< nearly the same at every current
  std::optional<Volts> piv;
  std::optional<Amps> average_current;
  std::optional<Amps> steady_peak;
  std::optional<Amps> surge_current;
  std::optional<Seconds> first_use;  ///< filament alone before first use, and after moving
  std::optional<MercuryLimit> mercury;
};

/// Selenium stack: so many plates in series.
struct SeleniumRectifier {
  NodeIndex anode = kOpenNode, cathode = kOpenNode;
  int plates = 1;
  Volts drop_per_plate;  ///< at average_current
  bool drop_assumed = false;
  Amps average_current;
  std::optional<Volts> piv_per_plate;
  std::optional<Amps> surge_current;
};

/// A path that lets current through one way.
struct RectifierPath {
  NodeIndex anode = kOpenNode, cathode = kOpenNode;
};

}  // namespace firstglow::core
