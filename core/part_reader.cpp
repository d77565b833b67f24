#include "core/part_reader.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>
#include <functional>
#include <numbers>
#include <utility>

#include "core/nearest_word.hpp"
#include "core/part_types.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

/// Results name the lamp in series with the mains so, whether it is in the record or not.
constexpr std::string_view kSeriesLampName = "lamp";

// Trade defaults for what a record leaves out: common practice, no source.
constexpr Tolerance kUsualTolerance{0.20, 0.20};
constexpr Tolerance kElectrolyticTolerance{0.20, 0.50};
constexpr Tolerance kMeterBand{0.02, 0.02};  ///< a hand-held meter, capacitance ranges included

template <class Q>
PartValue<Q> read_value(PartContext& context, Tolerance usual) {
  PartValue<Q> value;
  value.marked = context.fields.quantity<Q>("value");
  value.measured = context.fields.quantity<Q>("measured");
  const std::optional<Tolerance> stated = context.fields.tolerance("tolerance");
  if (context.fields.node("value") == nullptr && context.fields.node("measured") == nullptr) {
    context.fields.fault(
        "value", fmt::format("neither 'value' nor 'measured' is given; expected "
                             "a {} such as {}; write what is marked or measured",
                             dimension_words(kDimensionOf<Q>), dimension_example(kDimensionOf<Q>)));
  }
  if (value.measured) {
    value.tolerance = kMeterBand;
    value.origin = ToleranceOrigin::measured;
  } else {
    value.tolerance = stated.value_or(usual);
    value.origin = stated ? ToleranceOrigin::stated : ToleranceOrigin::assumed;
  }
  return value;
}

Resistor build_resistor(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  Resistor part;
  part.a = ends[0];
  part.b = ends[1];
  part.value = read_value<Ohms>(context, kUsualTolerance);
  if (const auto role = context.fields.choice("role")) {
    constexpr std::array kRoles{ResistorRole::plain, ResistorRole::bleeder, ResistorRole::equaliser,
                                ResistorRole::dropper};
    part.role = kRoles.at(*role);
  }
  part.watts = context.fields.quantity<Watts>("watts");
  part.working_volts = context.fields.quantity<Volts>("working_volts");
  return part;
}

/// ESR from the loss angle, ESR = tan d / (2 pi f C): the form in which IEC 60384-4 states losses.
Ohms esr_from_loss(double tan_delta, double loss_hz, Farads capacitance) {
  return Ohms(tan_delta / (2.0 * std::numbers::pi * loss_hz * capacitance.si()));
}

/// Loss angles by dielectric: common practice, no source.
Ohms usual_esr(Dielectric dielectric, Farads capacitance) {
  switch (dielectric) {
    case Dielectric::electrolytic:
      return esr_from_loss(0.15, 120.0, capacitance);
    case Dielectric::film:
      return esr_from_loss(0.001, 1000.0, capacitance);
    case Dielectric::paper_oil:
      break;
  }
  return esr_from_loss(0.005, 120.0, capacitance);
}

Capacitor build_capacitor(PartContext& context, Dielectric dielectric) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  Capacitor part;
  part.plus = ends[0];
  part.minus = ends[1];
  part.dielectric = dielectric;
  const bool polarised = dielectric == Dielectric::electrolytic;
  part.value = read_value<Farads>(context, polarised ? kElectrolyticTolerance : kUsualTolerance);
  part.working_volts = fields.quantity<Volts>("working_volts");
  part.surge_volts = fields.quantity<Volts>("surge_volts");
  if (part.working_volts && part.surge_volts && *part.surge_volts < *part.working_volts) {
    fields.fault("surge_volts",
                 fmt::format("{:g} V is below the working {:g} V; expected surge >= working; "
                             "correct one of them",
                             part.surge_volts->si(), part.working_volts->si()));
  }
  const auto esr = fields.quantity<Ohms>("esr");
  part.esr_assumed = !esr;
  part.esr = esr ? *esr : Ohms();
  if (!esr && part.value.nominal().si() > 0.0) {
    part.esr = usual_esr(dielectric, part.value.nominal());
  }
  part.leakage = fields.quantity<Amps>("leakage");
  part.ripple_current = fields.quantity<Amps>("ripple_current");
  if (polarised) {
    part.history = read_electrolytic_history(context);
  }
  return part;
}

Choke build_choke(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  Choke part;
  part.a = ends[0];
  part.b = ends[1];
  part.value = read_value<Henries>(context, kUsualTolerance);
  part.dc_resistance = context.fields.quantity_or("dc_resistance", Ohms());
  part.rated_current = context.fields.quantity<Amps>("rated_current");
  part.insulation_volts = context.fields.quantity<Volts>("insulation_volts");
  read_choke_law(context, part);
  return part;
}

DrawnWhen read_when(PartContext& context) {
  constexpr std::array kWhen{DrawnWhen::always, DrawnWhen::tubes_in, DrawnWhen::key_up,
                             DrawnWhen::key_down};
  const auto when = context.fields.choice("when");
  return when ? kWhen.at(*when) : DrawnWhen::tubes_in;
}

ResistiveLoad build_resistive_load(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  return {ends[0], ends[1], read_value<Ohms>(context, kUsualTolerance), read_when(context)};
}

CurrentLoad build_current_load(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  return {ends[0], ends[1], read_value<Amps>(context, kUsualTolerance), read_when(context)};
}

Heater build_heater(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  Heater part;
  part.a = ends[0];
  part.b = ends[1];
  part.rated_volts = context.fields.quantity_or("rated_volts", RmsVolts());
  const auto hot = context.fields.quantity<Ohms>("hot");
  const auto cold = context.fields.quantity<Ohms>("cold");
  part.hot = hot.value_or(Ohms());
  part.cold = cold.value_or(Ohms());
  if (hot && cold && *hot <= *cold) {
    context.fields.fault("hot", fmt::format("{:g} ohm hot is not above {:g} ohm cold; expected "
                                            "several times the cold value; exchange or correct",
                                            hot->si(), cold->si()));
  }
  return part;
}

using Builder = std::function<PartData(PartContext&, const Part&)>;

const std::map<std::string_view, Builder>& builders() {
  static const std::map<std::string_view, Builder> kBuilders{
      {"mains_inlet", [](PartContext& c, const Part&) { return build_mains_inlet(c); }},
      {"fuse", [](PartContext& c, const Part&) { return build_fuse(c); }},
      {"series_lamp", [](PartContext& c, const Part&) { return build_series_lamp(c); }},
      {"variac", [](PartContext& c, const Part&) { return build_variac(c); }},
      {"power_transformer", [](PartContext& c, const Part&) { return build_transformer(c); }},
      {"silicon_diode",
       [](PartContext& c, const Part& p) { return build_silicon_diode(c, p.type); }},
      {"resistor", [](PartContext& c, const Part&) { return build_resistor(c); }},
      {"electrolytic",
       [](PartContext& c, const Part&) { return build_capacitor(c, Dielectric::electrolytic); }},
      {"film_capacitor",
       [](PartContext& c, const Part&) { return build_capacitor(c, Dielectric::film); }},
      {"oil_capacitor",
       [](PartContext& c, const Part&) { return build_capacitor(c, Dielectric::paper_oil); }},
      {"choke", [](PartContext& c, const Part&) { return build_choke(c); }},
      {"resistive_load", [](PartContext& c, const Part&) { return build_resistive_load(c); }},
      {"current_load", [](PartContext& c, const Part&) { return build_current_load(c); }},
      {"heater", [](PartContext& c, const Part&) { return build_heater(c); }},
      {"vacuum_rectifier",
       [](PartContext& c, const Part& p) { return build_vacuum_rectifier(c, p.type); }},
      {"gas_rectifier",
       [](PartContext& c, const Part& p) { return build_gas_rectifier(c, p.type); }},
      {"selenium_rectifier",
       [](PartContext& c, const Part&) { return build_selenium_rectifier(c); }},
      {"ntc_limiter", [](PartContext& c, const Part&) { return build_ntc_limiter(c); }},
      {"step_start", [](PartContext& c, const Part&) { return build_step_start(c); }},
      {"vr_tube", [](PartContext& c, const Part& p) { return build_vr_tube(c, p.type); }},
      {"power_tube", [](PartContext& c, const Part& p) { return build_power_tube(c, p.type); }},
  };
  return kBuilders;
}

/// The kind of a part; nullptr, with a fault, when it has none that is known.
const KindSpec* read_kind(const RecordNode& map, const std::string& subject,
                          std::vector<InputFault>& faults) {
  if (map.shape != RecordShape::map) {
    faults.push_back({map.where, fmt::format("{}: {} is found; expected a map that starts with "
                                             "'kind'; write the fields of the part",
                                             subject, shape_words(map.shape))});
    return nullptr;
  }
  const RecordNode* kind = map.find("kind");
  if (kind == nullptr) {
    faults.push_back(
        {map.key_where, fmt::format("{}: key 'kind' is missing; expected one of {}; add it",
                                    subject, fmt::join(kind_keys(), ", "))});
    return nullptr;
  }
  const KindSpec* found = kind->shape == RecordShape::text ? find_kind(kind->text) : nullptr;
  if (found == nullptr) {
    const std::string near = nearest_word(kind->text, kind_keys());
    faults.push_back(
        {kind->where,
         fmt::format("{}: unknown kind {}; expected one of {}; {}", subject, in_quotes(kind->text),
                     fmt::join(kind_keys(), ", "),
                     near.empty() ? "choose one" : fmt::format("did you mean '{}'?", near))});
  }
  return found;
}

void check_designator(const RecordNode& map, std::vector<InputFault>& faults) {
  if (!is_name(map.key) || map.key == kOpenName) {
    faults.push_back(
        {map.key_where, fmt::format("{} is no designator; expected {}, and not '{}'; rename the "
                                    "part",
                                    in_quotes(map.key), name_rule(), kOpenName)});
  }
}

}  // namespace

ReadPart read_part(const RecordNode& map, NodeTable& nodes, std::vector<InputFault>& faults) {
  ReadPart read;
  read.part.designator = map.key;
  read.part.where = map.key_where;
  check_designator(map, faults);
  const KindSpec* kind = read_kind(map, fmt::format("part {}", in_quotes(map.key)), faults);
  if (kind == nullptr) {
    return read;
  }
  if (map.key == kSeriesLampName && kind->key != "series_lamp") {
    faults.push_back(
        {map.key_where, fmt::format("designator '{}' is kept for the series lamp; expected another "
                                    "for a {}; rename the part",
                                    kSeriesLampName, kind->key)});
  }
  FieldReader fields(map, kind->fields, fmt::format("part {} ({})", in_quotes(map.key), kind->key),
                     faults);
  PartContext context{*kind, fields, nodes, faults};
  read.part.kind = kind->key;
  read.part.type = fields.text("type");
  read.part.note = fields.text("note");
  read.part.data = builders().at(kind->key)(context, read.part);
  read.connected = context.connected;
  return read;
}

}  // namespace firstglow::core
