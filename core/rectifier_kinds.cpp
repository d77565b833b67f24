#include <utility>

#include "core/kind_fields.hpp"

namespace firstglow::core {
namespace {

using enum Dimension;

FieldSpec library_type() {
  return {"type", FieldForm::line,
          false,  "a type of the part library, which fills what is not written here",
          none,   false,
          {}};
}

void add_heater_fields(Fields& fields) {
  fields.push_back(optional("heater_volts", volts, "rated heater or filament volts, rms"));
  fields.push_back(optional("heater_current", amps, "rated heater or filament amps, rms"));
  fields.push_back(optional("warm_up", seconds,
                            "from cold to full conduction; of a gas tube, filament volts before "
                            "plate volts, at every start"));
}

KindSpec vacuum_rectifier_kind() {
  Fields fields{library_type(),
                choice("heated", {"direct", "indirect"},
                       "direct: the filament is the cathode; needed without a known type")};
  add_heater_fields(fields);
  for (FieldSpec& field : Fields{
           optional("drop_volts", volts, "published drop of one plate; needed without a type"),
           optional("drop_current", amps, "amps through the plate at that drop"),
           optional("piv", volts, "largest peak inverse plate volts"),
           optional("dc_current", amps, "largest DC output amps, both plates together"),
           optional("capacitor_dc_current", amps,
                    "the same with a capacitor right at the cathode; default dc_current"),
           optional("steady_peak", amps, "largest steady-state peak amps of each plate"),
           optional("hot_switching_peak", amps,
                    "largest peak amps of each plate when switched on with the tube hot"),
           optional("largest_capacitor", farads, "largest capacitor right at the cathode"),
           optional("least_plate_ohms", ohms,
                    "least supply ohms in the way of each plate, with a capacitor input"),
           optional("heater_cathode_volts", volts, "largest peak volts from heater to cathode")}) {
    fields.push_back(std::move(field));
  }
  return make_kind("vacuum_rectifier", "a high-vacuum rectifier tube with one or two plates",
                   NodesForm::named, {"plate_1", "plate_2", "cathode", "heater_1", "heater_2"},
                   std::move(fields));
}

KindSpec gas_rectifier_kind() {
  Fields fields{library_type()};
  add_heater_fields(fields);
  for (FieldSpec& field :
       Fields{optional("drop_volts", volts, "drop of the arc; needed without a known type"),
              optional("first_use", seconds,
                       "filament alone before the first plate volts, and after the tube was moved"),
              choice("condensed_mercury", {"up_to_60C", "up_to_70C", "up_to_80C"},
                     "warmest the condensed mercury gets (lower end 20 C): picks the ratings of a "
                     "known type; default the class up to 70 C"),
              optional("piv", volts, "largest peak inverse plate volts"),
              optional("average_current", amps, "largest average plate amps"),
              optional("steady_peak", amps, "largest steady-state peak plate amps"),
              optional("surge_current", amps, "largest fault or switch-on peak amps")}) {
    fields.push_back(std::move(field));
  }
  return make_kind("gas_rectifier", "a mercury-vapour or xenon rectifier tube", NodesForm::named,
                   {"plate", "cathode", "heater_1", "heater_2"}, std::move(fields));
}

KindSpec selenium_rectifier_kind() {
  return make_kind(
      "selenium_rectifier", "a selenium stack, as found in bias supplies", NodesForm::named,
      {"anode", "cathode"},
      {{"plates", FieldForm::count, true, "number of plates in series", none, false, {}},
       needed("average_current", amps, "rated DC amps"),
       optional("drop_per_plate", volts, "at the rated amps; default 1 V, a new plate"),
       optional("piv_per_plate", volts, "largest peak inverse volts of one plate"),
       optional("surge_current", amps, "largest switch-on peak amps")});
}

}  // namespace

void add_rectifier_kinds(std::vector<KindSpec>& kinds) {
  kinds.push_back(vacuum_rectifier_kind());
  kinds.push_back(gas_rectifier_kind());
  kinds.push_back(selenium_rectifier_kind());
}

}  // namespace firstglow::core
