#include <fmt/format.h>

#include "core/part_reader.hpp"

namespace firstglow::core {
namespace {

// Trade defaults for what a record leaves out: common practice, no source. The short thermal time
// lets the thermistor give way early, so that switch-on currents come out high.
constexpr Kelvin kUsualBeta{3000.0};
constexpr Seconds kUsualThermalTime{30.0};

RmsVolts volts_of(const Winding& winding) {
  RmsVolts sum;
  for (const RmsVolts section : winding.section_volts) {
    sum = sum + section;
  }
  return sum;
}

void need_both(PartContext& context, std::string_view given, std::string_view missing) {
  context.fields.fault(given, fmt::format("'{}' is not given beside it; expected both or neither; "
                                          "add it",
                                          missing));
}

}  // namespace

void read_core_knee(PartContext& context, PowerTransformer& part) {
  FieldReader& fields = context.fields;
  part.no_load_frequency = fields.quantity<Hertz>("no_load_frequency");
  const auto volts = fields.quantity<RmsVolts>("second_no_load_volts");
  const auto amps = fields.quantity<Amps>("second_no_load_current");
  const RmsVolts first_v = volts_of(part.primary);
  if (volts.has_value() != amps.has_value()) {
    need_both(context, volts ? "second_no_load_volts" : "second_no_load_current",
              volts ? "second_no_load_current" : "second_no_load_volts");
  } else if (volts && !part.no_load_current) {
    need_both(context, "second_no_load_volts", "no_load_current");
  } else if (volts && *volts <= first_v) {
    fields.fault("second_no_load_volts",
                 fmt::format("{:g} V is not above the {:g} V of the first reading; expected 5 to "
                             "25 % more; exchange or correct them",
                             volts->si(), first_v.si()));
  } else if (volts && *amps / *part.no_load_current <= *volts / first_v) {
    fields.fault(
        "second_no_load_current",
        fmt::format("{:g} A at {:g} V has not grown faster than the volts, so it shows no "
                    "knee; expected more than {:g} A; read it again at higher volts, or "
                    "leave both out",
                    amps->si(), volts->si(), part.no_load_current->si() * (*volts / first_v)));
  } else {
    part.second_no_load_volts = volts;
    part.second_no_load_current = amps;
  }
}

void read_choke_law(PartContext& context, Choke& part) {
  FieldReader& fields = context.fields;
  part.value_current = fields.quantity_or("value_current", Amps());
  const auto henry = fields.quantity<Henries>("loaded_inductance");
  const auto amps = fields.quantity<Amps>("loaded_current");
  if (henry.has_value() != amps.has_value()) {
    need_both(context, henry ? "loaded_inductance" : "loaded_current",
              henry ? "loaded_current" : "loaded_inductance");
    return;
  }
  const double first_h = part.value.nominal().si();
  if (!henry || first_h <= 0.0) {
    return;
  }
  const double first_a = part.value_current.si();
  if (henry->si() >= first_h || amps->si() <= first_a) {
    fields.fault("loaded_inductance",
                 fmt::format("{:g} H at {:g} A is not less inductance at more current than {:g} H "
                             "at {:g} A; expected both; exchange or correct them",
                             henry->si(), amps->si(), first_h, first_a));
  } else if (henry->si() * amps->si() <= first_h * first_a) {
    fields.fault("loaded_inductance",
                 fmt::format("{:g} H at {:g} A holds no more flux than {:g} H at {:g} A; expected "
                             "the product of henries and amps to grow; read the two points again",
                             henry->si(), amps->si(), first_h, first_a));
  } else {
    part.loaded_inductance = henry;
    part.loaded_current = amps;
  }
}

NtcLimiter build_ntc_limiter(PartContext& context) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  NtcLimiter part;
  part.a = ends[0];
  part.b = ends[1];
  const auto cold = fields.quantity<Ohms>("cold");
  const auto hot = fields.quantity<Ohms>("hot");
  part.cold = cold.value_or(Ohms());
  part.hot = hot.value_or(Ohms());
  part.rated_current = fields.quantity_or("rated_current", Amps());
  part.beta = fields.quantity_or("beta", kUsualBeta);
  part.thermal_time = fields.quantity_or("thermal_time", kUsualThermalTime);
  if (cold && hot && *hot >= *cold) {
    fields.fault("hot", fmt::format("{:g} ohm hot is not below {:g} ohm cold; expected a tenth or "
                                    "less; exchange or correct",
                                    hot->si(), cold->si()));
  }
  return part;
}

StepStart build_step_start(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  return {ends[0], ends[1], context.fields.quantity_or("resistance", Ohms()),
          context.fields.quantity_or("delay", Seconds()), context.fields.quantity<Watts>("watts")};
}

}  // namespace firstglow::core
