#include <fmt/format.h>

#include "core/part_reader.hpp"

namespace firstglow::core {
namespace {

// Trade defaults for what a record leaves out: common practice, no source.
constexpr double kMainsBand = 0.10;
constexpr Ohms kUsualSourceResistance{0.1};  ///< low, so that switch-on currents come out high
constexpr Ohms kUsualVariacResistance{0.1};  ///< low for the same reason
constexpr double kFuseDropV = 0.05;          ///< low for the same reason

}  // namespace

MainsInlet build_mains_inlet(PartContext& context) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  MainsInlet part;
  part.line = ends[0];
  part.neutral = ends[1];
  const auto nominal = fields.quantity<RmsVolts>("nominal");
  part.nominal = nominal.value_or(RmsVolts());
  part.low = fields.quantity_or("low", part.nominal * (1.0 - kMainsBand));
  part.high = fields.quantity_or("high", part.nominal * (1.0 + kMainsBand));
  part.frequency = fields.quantity_or("frequency", Hertz());
  part.source_resistance = fields.quantity_or("source_resistance", kUsualSourceResistance);
  if (nominal && part.low > part.nominal) {
    fields.fault("low", fmt::format("{:g} V is above the nominal {:g} V; expected low <= nominal;"
                                    " correct one of them",
                                    part.low.si(), part.nominal.si()));
  }
  if (nominal && part.high < part.nominal) {
    fields.fault("high", fmt::format("{:g} V is below the nominal {:g} V; expected high >= nominal;"
                                     " correct one of them",
                                     part.high.si(), part.nominal.si()));
  }
  return part;
}

Fuse build_fuse(PartContext& context) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  Fuse part;
  part.a = ends[0];
  part.b = ends[1];
  const auto rating = fields.quantity<Amps>("rating");
  part.rating = rating.value_or(Amps());
  if (const auto speed = fields.choice("speed")) {
    part.speed = *speed == 0 ? FuseSpeed::fast : FuseSpeed::slow;
  }
  if (const auto standard = fields.choice("standard")) {
    part.standard = *standard == 0 ? FuseStandard::iec : FuseStandard::ul;
  }
  part.volts = fields.quantity<RmsVolts>("volts");
  part.melting_i2t = fields.quantity<AmpsSquaredSeconds>("melting_i2t");
  part.cold_resistance =
      fields.quantity_or("cold_resistance", Ohms(rating ? kFuseDropV / rating->si() : 0.0));
  return part;
}

SeriesLamp build_series_lamp(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  return {ends[0], ends[1], context.fields.quantity_or("rated_volts", RmsVolts()),
          context.fields.quantity_or("rated_watts", Watts())};
}

Variac build_variac(PartContext& context) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  return {ends[0],
          ends[1],
          ends[2],
          context.fields.quantity_or("output_resistance", kUsualVariacResistance),
          context.fields.quantity<Ohms>("winding_resistance"),
          context.fields.quantity<RmsVolts>("max_output"),
          context.fields.quantity<Amps>("rated_current")};
}

}  // namespace firstglow::core
