#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>
#include <limits>
#include <string>

#include "core/kind_fields.hpp"
#include "core/part_reader.hpp"
#include "core/tube_types.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

/// Selenium drops about a volt a plate at its rated current when new, half as much again when old
/// (common practice, no source).
constexpr double kSeleniumPlateVolts = 1.0;

template <class Q>
std::optional<Q> or_known(std::optional<Q> written, const std::optional<double>& known) {
  return written || !known ? written : std::optional<Q>(Q(*known));
}

/// A figure without which there is no model: from the record, else from the type, else a fault.
template <class Q>
Q needed_figure(PartContext& context, const char* key, const std::optional<double>& known,
                const char* why) {
  const std::optional<Q> figure = or_known(context.fields.quantity<Q>(key), known);
  if (!figure && context.fields.node(key) == nullptr) {
    context.fields.fault(key, fmt::format("key is missing and no known type fills it; expected {}; "
                                          "name a type of the part library or write {}",
                                          why, key));
  }
  return figure.value_or(Q(1.0));
}

void refuse_type(PartContext& context, const std::string& type,
                 const std::vector<std::string>& near) {
  context.fields.fault("type", fmt::format("{} is not in the part library; known near it: {}; "
                                           "leave the type out and write its figures, and put its "
                                           "name into 'note'",
                                           in_quotes(type), fmt::join(near, ", ")));
}

void check_cathode(PartContext& context, const RectifierHeater& heater, NodeIndex cathode,
                   bool tied) {
  if (tied && context.connected && cathode != heater.a && cathode != heater.b) {
    context.fields.fault(
        "nodes",
        "end 'cathode' is neither heater_1 nor heater_2; expected one of the two, because "
        "in this tube the cathode is the filament or is joined to the heater; name the "
        "heater end the supply is taken from");
  }
}

std::vector<PlateOhms> plate_ohms(PartContext& context, const VacuumRectifierType* known) {
  if (const auto written = context.fields.quantity<Ohms>("least_plate_ohms")) {
    return {{RmsVolts(std::numeric_limits<double>::max()), *written}};
  }
  return known != nullptr ? known->least_plate_ohms : std::vector<PlateOhms>{};
}

template <class Type>
std::optional<double> of(const Type* known, double Type::*figure) {
  return known != nullptr ? std::optional(known->*figure) : std::nullopt;
}
template <class Type>
std::optional<double> of(const Type* known, std::optional<double> Type::*figure) {
  return known != nullptr ? known->*figure : std::nullopt;
}

template <class Type>
RectifierHeater read_heater(PartContext& context, const Type* known, NodeIndex a, NodeIndex b) {
  RectifierHeater heater;
  heater.a = a;
  heater.b = b;
  heater.rated_volts = needed_figure<RmsVolts>(context, "heater_volts", of(known, &Type::heater_v),
                                               "the rated heater volts, rms");
  heater.rated_current = needed_figure<Amps>(context, "heater_current", of(known, &Type::heater_a),
                                             "the rated heater amps, rms");
  heater.warm_up =
      or_known(context.fields.quantity<Seconds>("warm_up"), of(known, &Type::warm_up_s));
  return heater;
}

void check_plate_1(PartContext& context, NodeIndex plate) {
  if (context.connected && plate == kOpenNode) {
    context.fields.fault("nodes",
                         "end 'plate_1' is open; expected the plate that is connected; exchange "
                         "plate_1 and plate_2");
  }
}

void fill_ratings(PartContext& context, const VacuumRectifierType* known, VacuumRectifier& part) {
  using Type = VacuumRectifierType;
  FieldReader& fields = context.fields;
  part.piv = or_known(fields.quantity<Volts>("piv"), of(known, &Type::piv_v));
  part.dc_current = or_known(fields.quantity<Amps>("dc_current"), of(known, &Type::dc_a));
  part.capacitor_dc_current =
      or_known(fields.quantity<Amps>("capacitor_dc_current"), of(known, &Type::capacitor_dc_a));
  part.steady_peak =
      or_known(fields.quantity<Amps>("steady_peak"), of(known, &Type::steady_peak_a));
  part.hot_switching_peak =
      or_known(fields.quantity<Amps>("hot_switching_peak"), of(known, &Type::hot_switching_a));
  part.largest_capacitor =
      or_known(fields.quantity<Farads>("largest_capacitor"), of(known, &Type::largest_f));
  part.least_plate_ohms = plate_ohms(context, known);
  part.heater_cathode_volts =
      or_known(fields.quantity<Volts>("heater_cathode_volts"), of(known, &Type::heater_cathode_v));
}

}  // namespace

VacuumRectifier build_vacuum_rectifier(PartContext& context, const std::string& type) {
  using Type = VacuumRectifierType;
  const std::vector<NodeIndex> ends = context.read_terminals();
  const Type* known = find_vacuum_rectifier_type(type);
  if (known == nullptr && !type.empty()) {
    refuse_type(context, type, vacuum_rectifier_types_near(type));
  }
  VacuumRectifier part;
  part.plate_1 = ends[0];
  part.plate_2 = ends[1];
  part.cathode = ends[2];
  part.heater = read_heater(context, known, ends[3], ends[4]);
  const auto heated = context.fields.choice("heated");
  part.heater.direct = heated ? *heated == 0 : known != nullptr && known->direct;
  if (!heated && known == nullptr && context.fields.node("heated") == nullptr) {
    context.fields.fault("heated",
                         "key is missing and no known type fills it; expected direct or "
                         "indirect; write whether the filament is the cathode");
  }
  check_plate_1(context, part.plate_1);
  check_cathode(context, part.heater, part.cathode,
                part.heater.direct || (known != nullptr && known->cathode_at_heater));
  part.drop_volts = needed_figure<Volts>(context, "drop_volts", of(known, &Type::drop_v),
                                         "the published drop of one plate");
  part.drop_current = needed_figure<Amps>(context, "drop_current", of(known, &Type::drop_a),
                                          "the amps at which the drop is published");
  fill_ratings(context, known, part);
  return part;
}

GasRectifier build_gas_rectifier(PartContext& context, const std::string& type) {
  using Type = GasRectifierType;
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  const Type* known = find_gas_rectifier_type(type);
  if (known == nullptr && !type.empty()) {
    refuse_type(context, type, gas_rectifier_types_near(type));
  }
  GasRectifier part;
  part.plate = ends[0];
  part.cathode = ends[1];
  part.heater = read_heater(context, known, ends[2], ends[3]);
  part.heater.direct = true;
  check_cathode(context, part.heater, part.cathode, true);
  part.drop_volts = needed_figure<Volts>(context, "drop_volts", of(known, &Type::drop_v),
                                         "the published drop of the arc");
  part.first_use = or_known(fields.quantity<Seconds>("first_use"), of(known, &Type::first_use_s));
  part.surge_current = or_known(fields.quantity<Amps>("surge_current"), of(known, &Type::surge_a));
  std::optional<double> piv, average, peak;
  const auto mercury = fields.choice("condensed_mercury");
  if (known != nullptr) {
    MercuryClass used = known->classes.at(known->usual_class);
    for (const MercuryClass& each : known->classes) {
      used = mercury && static_cast<std::size_t>(each.up_to) == *mercury ? each : used;
    }
    part.mercury = used.up_to;
    piv = used.piv_v;
    average = used.average_a;
    peak = used.peak_a;
  }
  part.piv = or_known(fields.quantity<Volts>("piv"), piv);
  part.average_current = or_known(fields.quantity<Amps>("average_current"), average);
  part.steady_peak = or_known(fields.quantity<Amps>("steady_peak"), peak);
  return part;
}

SeleniumRectifier build_selenium_rectifier(PartContext& context) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  SeleniumRectifier part;
  part.anode = ends[0];
  part.cathode = ends[1];
  part.plates = fields.count("plates").value_or(1);
  part.average_current = fields.quantity_or("average_current", Amps(1.0));
  const auto drop = fields.quantity<Volts>("drop_per_plate");
  part.drop_assumed = !drop;
  part.drop_per_plate = drop.value_or(Volts(kSeleniumPlateVolts));
  part.piv_per_plate = fields.quantity<Volts>("piv_per_plate");
  part.surge_current = fields.quantity<Amps>("surge_current");
  return part;
}

}  // namespace firstglow::core
