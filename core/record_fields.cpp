#include "core/record_fields.hpp"

#include <utility>

#include "core/iron_fields.hpp"
#include "core/kind_fields.hpp"
#include "core/load_tube_fields.hpp"

namespace firstglow::core {
namespace {

using enum Dimension;

Fields capacitor_fields(std::string_view tolerance_help, std::string_view esr_help) {
  Fields fields = value_fields(farads, tolerance_help);
  fields.push_back(optional("working_volts", volts, "marked DC working volts"));
  fields.push_back(optional("surge_volts", volts, "marked surge volts"));
  fields.push_back(optional("esr", ohms, esr_help));
  fields.push_back(optional(
      "leakage", amps, "DC amps at working volts after forming, measured or from the sheet", true));
  fields.push_back(optional("ripple_current", amps, "rated ripple amps, rms"));
  return fields;
}

/// What the record may say of an electrolytic beyond its ratings.
Fields electrolytic_fields() {
  Fields fields = capacitor_fields("default -20/+50 %", "default from tan d = 0.15 at 120 Hz");
  fields.push_back(
      {"years_old", FieldForm::count, false, "years since it was made", none, false, {}});
  fields.push_back({"years_idle",
                    FieldForm::count,
                    false,
                    "years without volts, on the shelf or in "
                    "a rig that was off",
                    none,
                    false,
                    {}});
  fields.push_back({"can",
                    FieldForm::line,
                    false,
                    "size of the can, diameter x length, e.g. `35x75 mm`",
                    none,
                    false,
                    {}});
  fields.push_back({"life",
                    FieldForm::line,
                    false,
                    "maker's life at rated volts and ripple amps, e.g. `2000 h at 85 C`",
                    none,
                    false,
                    {}});
  return fields;
}

void add_iron_and_rectifiers(std::vector<KindSpec>& kinds) {
  kinds.push_back(power_transformer_kind());
  kinds.push_back(make_kind(
      "silicon_diode", "a silicon rectifier diode, or a string of like ones", NodesForm::named,
      {"anode", "cathode"},
      {{"type",
        FieldForm::line,
        false,
        "a type of the part library, which fills the ratings not written here",
        none,
        false,
        {}},
       {"in_series",
        FieldForm::count,
        false,
        "number of like diodes in series; default 1",
        none,
        false,
        {}},
       optional("piv", volts, "repetitive peak inverse volts (VRRM) of one diode"),
       optional("average_current", amps, "average forward amps (IF(AV))"),
       optional("repetitive_peak", amps, "repetitive peak forward amps (IFRM)"),
       optional("surge_current", amps, "one half cycle surge amps (IFSM)"),
       optional("equaliser", ohms, "resistor across each diode of a string"),
       {"equaliser_tolerance",
        FieldForm::tolerance,
        false,
        "of those resistors; default 10 %",
        none,
        false,
        {}},
       optional("snubber", farads, "capacitor across each diode"),
       optional("reverse_leakage", amps, "largest reverse amps of one diode, hot; default 50 uA"),
       choice("avalanche", {"no", "yes"},
              "yes: a controlled-avalanche type, which shares volts without "
              "equalisers; default no")}));
}

void add_filter_parts(std::vector<KindSpec>& kinds) {
  Fields resistor = value_fields(ohms, "default 20 %");
  resistor.push_back(choice("role", {"plain", "bleeder", "equaliser", "dropper"},
                            "what it is there for; default `plain`"));
  resistor.push_back(optional("watts", watts, "rated dissipation"));
  resistor.push_back(
      optional("working_volts", volts, "largest continuous DC or peak volts of the style"));
  kinds.push_back(
      make_kind("resistor", "a fixed resistor", NodesForm::list, two_ends(), std::move(resistor)));
  kinds.push_back(make_kind("electrolytic", "a polarised electrolytic capacitor", NodesForm::named,
                            polarised_ends(), electrolytic_fields()));
  kinds.push_back(make_kind(
      "film_capacitor", "a film, mica or ceramic capacitor", NodesForm::either, polarised_ends(),
      capacitor_fields("default 20 %", "default from tan d = 0.001 at 1 kHz")));
  kinds.push_back(make_kind(
      "oil_capacitor", "a paper or paper-in-oil capacitor", NodesForm::either, polarised_ends(),
      capacitor_fields("default 20 %", "default from tan d = 0.005 at 120 Hz")));
  kinds.push_back(choke_kind());
}

void add_loads(std::vector<KindSpec>& kinds) {
  Fields resistive = value_fields(ohms, "default 20 %");
  resistive.push_back(drawn_when());
  kinds.push_back(make_kind("resistive_load", "what draws like a resistor, e.g. a screen grid",
                            NodesForm::named, polarised_ends(), std::move(resistive)));
  Fields current = value_fields(amps, "default 20 %");
  current.push_back(drawn_when());
  kinds.push_back(make_kind("current_load", "what draws a constant current, e.g. tube plates",
                            NodesForm::named, polarised_ends(), std::move(current)));
  kinds.push_back(make_kind("heater", "tube heaters on one winding, lumped", NodesForm::list,
                            two_ends(),
                            {needed("rated_volts", volts, "rated heater volts, rms"),
                             needed("hot", ohms, "resistance at rated volts"),
                             needed("cold", ohms, "resistance at room temperature")}));
}

}  // namespace

const std::vector<KindSpec>& kind_specs() {
  static const std::vector<KindSpec> kKinds = [] {
    std::vector<KindSpec> kinds;
    add_mains_side(kinds);
    add_iron_and_rectifiers(kinds);
    add_filter_parts(kinds);
    add_loads(kinds);
    add_rectifier_kinds(kinds);
    add_load_tube_kinds(kinds);
    return kinds;
  }();
  return kKinds;
}

const std::vector<FieldSpec>& record_fields() {
  static const Fields kFields{
      {"firstglow", FieldForm::version, true, "version of this format", none, false, {}},
      {"name", FieldForm::line, true, "name of the rig", none, false, {}},
      {"description", FieldForm::note, false, "what it is", none, false, {}},
      {"chassis",
       FieldForm::name,
       true,
       "the node that is the chassis: the only ground",
       none,
       false,
       {}},
      {"parts", FieldForm::parts, true, "all parts by designator", none, false, {}},
  };
  return kFields;
}

const std::vector<FieldSpec>& winding_fields() {
  static const Fields kFields{
      {"nodes",
       FieldForm::node_list,
       true,
       "ends and taps in order along the winding",
       none,
       false,
       {}},
      {"volts",
       FieldForm::sections,
       true,
       "rms volts of each section between two nodes",
       volts,
       false,
       {}},
      {"ohms",
       FieldForm::sections,
       true,
       "DC ohms of each section, measured cold",
       ohms,
       false,
       {}},
      {"rated_current", FieldForm::quantity, false, "marked amps, rms", amps, false, {}},
  };
  return kFields;
}

const KindSpec* find_kind(std::string_view key) {
  for (const KindSpec& kind : kind_specs()) {
    if (kind.key == key) {
      return &kind;
    }
  }
  return nullptr;
}

const FieldSpec* find_field(const std::vector<FieldSpec>& fields, std::string_view key) {
  for (const FieldSpec& field : fields) {
    if (field.key == key) {
      return &field;
    }
  }
  return nullptr;
}

std::vector<std::string> keys_of(const std::vector<FieldSpec>& fields) {
  std::vector<std::string> keys;
  keys.reserve(fields.size());
  for (const FieldSpec& field : fields) {
    keys.emplace_back(field.key);
  }
  return keys;
}

std::vector<std::string> kind_keys() {
  std::vector<std::string> keys;
  keys.reserve(kind_specs().size());
  for (const KindSpec& kind : kind_specs()) {
    keys.emplace_back(kind.key);
  }
  return keys;
}

}  // namespace firstglow::core
