#pragma once
/// @file
/// What was built? The rig as a set of part records joined at the user's own nodes.
///
/// A Rig is made by read_rig() (core/rig_reader.hpp) and not changed afterwards. Every optional
/// that is empty means "not known": each rule must then say "no verdict", never "safe".

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/electrolytic.hpp"
#include "core/error.hpp"
#include "core/load_tubes.hpp"
#include "core/node_index.hpp"
#include "core/part_value.hpp"
#include "core/rectifier_parts.hpp"
#include "core/units.hpp"

namespace firstglow::core {

struct MainsInlet {
  NodeIndex line = kOpenNode;
  NodeIndex neutral = kOpenNode;
  RmsVolts nominal, low, high;  ///< open-circuit line volts; low <= nominal <= high
  Hertz frequency;
  Ohms source_resistance;  ///< of the house wiring up to the socket, both conductors
};

enum class FuseSpeed { fast, slow };
/// Whose time gates the fuse was made to: IEC 60127-2 or UL 248-14.
enum class FuseStandard { iec, ul };

struct Fuse {
  NodeIndex a = kOpenNode, b = kOpenNode;
  Amps rating;
  std::optional<FuseSpeed> speed;
  std::optional<FuseStandard> standard;
  std::optional<RmsVolts> volts;
  std::optional<AmpsSquaredSeconds> melting_i2t;
  Ohms cold_resistance;
};

/// A tungsten lamp in series with the mains; the situation says whether it is in or bypassed.
struct SeriesLamp {
  NodeIndex a = kOpenNode, b = kOpenNode;
  RmsVolts rated_volts;
  Watts rated_watts;
};

struct Variac {
  NodeIndex input = kOpenNode, output = kOpenNode, common = kOpenNode;
  Ohms output_resistance;                  ///< of the brush, at every setting
  std::optional<Ohms> winding_resistance;  ///< DC, input end to common end
  std::optional<RmsVolts> max_output;
  std::optional<Amps> rated_current;
};

/// One winding: n sections between n + 1 nodes, in order along the winding.
struct Winding {
  std::string name;
  std::vector<NodeIndex> nodes;
  std::vector<RmsVolts> section_volts;  ///< open-circuit, with the primary at its stated volts
  std::vector<Ohms> section_ohms;       ///< DC, cold
  std::optional<Amps> rated_current;    ///< rms
  SourcePosition where;
};

struct PowerTransformer {
  Winding primary;  ///< section_volts are the volts applied when the others were measured
  std::vector<Winding> secondaries;
  std::optional<Amps> no_load_current;  ///< rms primary amps, all secondaries open
  std::optional<Watts> no_load_watts;
  bool no_load_assumed = false;  ///< the two above were filled in by the reader, not measured
  std::optional<Hertz> no_load_frequency;        ///< of those readings; empty: that of the mains
  std::optional<RmsVolts> second_no_load_volts;  ///< a second reading above the first, for the knee
  std::optional<Amps> second_no_load_current;
};

enum class ResistorRole { plain, bleeder, equaliser, dropper };

struct Resistor {
  NodeIndex a = kOpenNode, b = kOpenNode;
  PartValue<Ohms> value;
  ResistorRole role = ResistorRole::plain;
  std::optional<Watts> watts;
  std::optional<Volts> working_volts;  ///< largest continuous DC or peak volts of the style
};

enum class Dielectric { electrolytic, film, paper_oil };

struct Capacitor {
  NodeIndex plus = kOpenNode, minus = kOpenNode;  ///< polarity binds electrolytics only
  PartValue<Farads> value;
  Dielectric dielectric = Dielectric::electrolytic;
  std::optional<Volts> working_volts;
  std::optional<Volts> surge_volts;
  Ohms esr;  ///< filled with a default when not written, then esr_assumed
  bool esr_assumed = false;
  std::optional<Amps> leakage;         ///< at working volts, after forming
  std::optional<Amps> ripple_current;  ///< rms rating
  ElectrolyticHistory history;         ///< empty for other dielectrics
};

/// Inductance falls with current when a second point is given: swinging, or merely saturating.
struct Choke {
  NodeIndex a = kOpenNode, b = kOpenNode;
  PartValue<Henries> value;                  ///< at value_current
  Amps value_current;                        ///< DC
  std::optional<Henries> loaded_inductance;  ///< at loaded_current, nominal
  std::optional<Amps> loaded_current;        ///< DC, above value_current
  Ohms dc_resistance;
  std::optional<Amps> rated_current;  ///< DC
  std::optional<Volts> insulation_volts;
};

/// When a load draws. `always` means with all tubes out too (a divider, a pilot lamp).
enum class DrawnWhen { always, tubes_in, key_up, key_down };

struct ResistiveLoad {
  NodeIndex plus = kOpenNode, minus = kOpenNode;
  PartValue<Ohms> value;
  DrawnWhen when = DrawnWhen::tubes_in;
};

/// Draws a constant current once there are volts to drive it; falls to zero below a knee.
struct CurrentLoad {
  NodeIndex plus = kOpenNode, minus = kOpenNode;
  PartValue<Amps> value;
  DrawnWhen when = DrawnWhen::tubes_in;
};

/// Tube heaters on one winding, lumped: drawn from stage `heaters` onward.
struct Heater {
  NodeIndex a = kOpenNode, b = kOpenNode;
  RmsVolts rated_volts;
  Ohms hot;   ///< at rated volts
  Ohms cold;  ///< at room temperature
};

/// A thermistor that is high when cold and low when warm, in series with the mains.
struct NtcLimiter {
  NodeIndex a = kOpenNode, b = kOpenNode;
  Ohms cold;             ///< at 25 C
  Ohms hot;              ///< settled at rated_current
  Amps rated_current;    ///< rms
  Kelvin beta;           ///< of R = cold exp(beta (1/T - 1/298.15 K))
  Seconds thermal_time;  ///< time constant of cooling
};

/// A resistor that a relay or a timer bridges some time after switch-on.
struct StepStart {
  NodeIndex a = kOpenNode, b = kOpenNode;
  Ohms resistance;
  Seconds delay;
  std::optional<Watts> watts;
};

using PartData =
    std::variant<MainsInlet, Fuse, SeriesLamp, Variac, PowerTransformer, SiliconDiode, Resistor,
                 Capacitor, Choke, ResistiveLoad, CurrentLoad, Heater, VacuumRectifier,
                 GasRectifier, SeleniumRectifier, NtcLimiter, StepStart, VrTube, PowerTube>;

struct Part {
  std::string designator;  ///< user's own, unique in the rig
  std::string kind;        ///< kind key as written in the record, e.g. "silicon_diode"
  std::string type;        ///< published type named in the record (e.g. 1N4007); empty if none
  std::string note;        ///< user's condition or remark; free text, only ever printed escaped
  SourcePosition where;
  PartData data;
};

struct Node {
  std::string name;  ///< user's own
  SourcePosition where;
};

struct Rig {
  std::string file;  ///< as given to the reader
  std::string name;
  std::string description;
  std::vector<Node> nodes;  ///< nodes[kChassis] is the chassis
  std::vector<Part> parts;  ///< in the order of the file

  [[nodiscard]] const Part* find(std::string_view designator) const;
  /// The rig's only mains inlet; a validated Rig has exactly one.
  [[nodiscard]] const MainsInlet& mains() const;
  /// Node name, or "open" for kOpenNode.
  [[nodiscard]] const std::string& node_name(NodeIndex node) const;
};

/// Every node a part touches, in a fixed order, kOpenNode included. A tube names each node once,
/// and no second plate that is not there.
[[nodiscard]] std::vector<NodeIndex> terminals(const Part& part);

/// The one-way paths of a rectifier of any kind, in the order of its plates; none for other parts.
[[nodiscard]] std::vector<RectifierPath> rectifier_paths(const Part& part);
/// The heater of a rectifier tube; nullptr for other parts.
[[nodiscard]] const RectifierHeater* rectifier_heater(const Part& part);

}  // namespace firstglow::core
