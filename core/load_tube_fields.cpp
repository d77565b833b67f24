#include "core/load_tube_fields.hpp"

#include <utility>

#include "core/kind_fields.hpp"

namespace firstglow::core {
namespace {

using enum Dimension;

FieldSpec type_field(bool required, std::string_view help) {
  return {"type", FieldForm::line, required, help, none, false, {}};
}

KindSpec vr_tube_kind() {
  return make_kind(
      "vr_tube", "a gas-filled voltage regulator tube", NodesForm::named, polarised_ends(),
      {type_field(false, "0A2, 0B2, 0A3, 0C3 or 0D3 fill what is not written here"),
       optional("run_volts", volts, "volts at the middle of its current window"),
       optional("strike_volts", volts, "supply volts at which it starts for certain"),
       optional("regulation", volts, "change of the run volts over the window; default 2 V", true),
       optional("least_current", amps, "least amps at which it regulates"),
       optional("most_current", amps, "most amps it stands")});
}

KindSpec power_tube_kind() {
  Fields own{
      type_field(true, "a type of the part library, such as 6146B, 807, 6L6GC, 12AX7"),
      {"count", FieldForm::count, false, "like tubes in parallel; default 1", none, false, {}},
      choice("service", {"continuous", "amateur"},
             "which published ratings count (CCS or ICAS); default `continuous`, the lower"),
      choice("key", {"none", "cathode", "screen"},
             "what the key opens; default `none`: the grid volts alone decide"),
      choice(
          "key_down", {"driven", "undriven"},
          "`driven`: draws the averages of its driven point; `undriven`: follows its grid volts; "
          "default `driven` where there is such a point"),
  };
  for (FieldSpec& field : Fields{
           optional("driven_plate_volts", volts, "driven point: plate volts to the cathode"),
           optional("driven_plate_current", amps, "driven point: average plate amps of one tube"),
           optional("driven_screen_volts", volts, "driven point: screen volts"),
           optional("driven_screen_current", amps, "driven point: average screen amps"),
           optional("driven_grid_volts", volts, "driven point: negative grid volts, without sign"),
           optional("driven_grid_current", amps, "driven point: average grid amps"),
           optional("driven_output", watts, "driven point: power put out by one tube"),
           optional("plate_volts", volts, "largest plate volts; default as published"),
           optional("screen_volts", volts, "largest screen volts; default as published"),
           optional("plate_watts", watts, "plate dissipation of one tube; default as published"),
           optional("screen_watts", watts, "screen dissipation of one tube; default as published"),
       }) {
    own.push_back(std::move(field));
  }
  return make_kind("power_tube", "tubes that draw from the supplies by their volts",
                   NodesForm::named, {"plate", "screen", "grid", "cathode"}, std::move(own));
}

}  // namespace

void add_load_tube_kinds(std::vector<KindSpec>& kinds) {
  kinds.push_back(vr_tube_kind());
  kinds.push_back(power_tube_kind());
}

}  // namespace firstglow::core
