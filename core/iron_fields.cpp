#include "core/iron_fields.hpp"

#include <utility>

#include "core/kind_fields.hpp"

namespace firstglow::core {

using enum Dimension;

void add_mains_side(std::vector<KindSpec>& kinds) {
  kinds.push_back(make_kind(
      "mains_inlet", "the mains socket the rig is plugged into; exactly one", NodesForm::named,
      {"line", "neutral"},
      {needed("nominal", volts, "open-circuit mains volts, rms"),
       optional("low", volts, "lowest mains volts to expect, rms; default 90 % of nominal"),
       optional("high", volts, "highest mains volts to expect, rms; default 110 % of nominal"),
       needed("frequency", hertz, "mains frequency"),
       optional("source_resistance", ohms, "of the house wiring, both conductors; default 0.1 ohm",
                true)}));
  kinds.push_back(make_kind(
      "fuse", "a fuse in the mains or a supply lead", NodesForm::list, two_ends(),
      {needed("rating", amps, "marked amps"),
       choice("speed", {"fast", "slow"}, "fast (F, quick acting) or slow (T, time lag)"),
       choice("standard", {"iec", "ul"}, "time gates it was made to: iec (60127-2) or ul (248-14)"),
       optional("volts", volts, "marked AC volts, rms"),
       optional("melting_i2t", amps_squared_seconds, "melting I2t from its data sheet"),
       optional("cold_resistance", ohms,
                "measured cold; default: a drop of 50 mV at the marked amps", true)}));
  kinds.push_back(make_kind("series_lamp", "a tungsten test lamp in series with the mains",
                            NodesForm::list, two_ends(),
                            {needed("rated_volts", volts, "marked volts, rms"),
                             needed("rated_watts", watts, "marked watts")}));
  kinds.push_back(make_kind(
      "variac", "a variable autotransformer", NodesForm::named, {"input", "output", "common"},
      {optional("output_resistance", ohms, "of the brush; default 0.1 ohm", true),
       optional("winding_resistance", ohms,
                "DC ohms from input to common; adds most at half setting, nothing at the ends"),
       optional("max_output", volts, "highest output volts, rms"),
       optional("rated_current", amps, "marked output amps, rms")}));
  kinds.push_back(
      make_kind("ntc_limiter", "a thermistor against switch-on current, high when cold",
                NodesForm::list, two_ends(),
                {needed("cold", ohms, "resistance at 25 C"),
                 needed("hot", ohms, "resistance settled at the rated amps"),
                 needed("rated_current", amps, "largest continuous amps, rms"),
                 optional("beta", kelvin, "B value of its data sheet; default 3000 kelvin"),
                 optional("thermal_time", seconds, "thermal time constant; default 30 s")}));
  kinds.push_back(make_kind("step_start",
                            "a resistor that a relay or timer bridges after switch-on",
                            NodesForm::list, two_ends(),
                            {needed("resistance", ohms, "the resistor, before it is bridged"),
                             needed("delay", seconds, "from switch-on until it is bridged"),
                             optional("watts", watts, "rated dissipation of the resistor")}));
}

KindSpec power_transformer_kind() {
  return make_kind(
      "power_transformer", "a mains transformer as a restorer can measure it", NodesForm::none, {},
      {{"primary",
        FieldForm::winding,
        true,
        "the driven winding; its volts are those applied when the others were measured",
        none,
        false,
        {}},
       {"secondaries",
        FieldForm::windings,
        true,
        "all other windings by name; volts open-circuit, rms",
        none,
        false,
        {}},
       optional("no_load_current", amps,
                "primary amps, rms, all secondaries open; default: 10 % of the rated VA"),
       optional("no_load_watts", watts,
                "primary watts, all secondaries open; default: 3 % of the rated VA"),
       optional("no_load_frequency", hertz,
                "frequency of those readings, or of the nameplate; default that of the mains"),
       optional("second_no_load_volts", volts,
                "rms volts of a second reading, 5 to 25 % higher: places the knee of the core"),
       optional("second_no_load_current", amps, "primary amps, rms, at that second reading")});
}

KindSpec choke_kind() {
  Fields choke = value_fields(henries, "default 20 %");
  choke.push_back(needed("dc_resistance", ohms, "winding resistance, measured cold"));
  choke.push_back(optional("rated_current", amps, "marked DC amps"));
  choke.push_back(optional("insulation_volts", volts, "winding to core test volts"));
  choke.push_back(
      optional("value_current", amps, "DC amps at which `value` holds; default 0", true));
  choke.push_back(optional("loaded_inductance", henries,
                           "inductance at `loaded_current`: a swinging or saturating choke"));
  choke.push_back(optional("loaded_current", amps, "DC amps of `loaded_inductance`"));
  return make_kind("choke", "a filter choke", NodesForm::list, two_ends(), std::move(choke));
}

}  // namespace firstglow::core
