#include <fmt/format.h>

#include <array>

#include "core/load_tube_types.hpp"
#include "core/part_reader.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr Volts kUsualRegulation{2.0};  ///< of a miniature tube: common practice, no source

/// A value of the record, else of the library; a fault when neither has it.
template <class Q>
Q stated_or(PartContext& context, const char* key, const std::optional<Q>& known) {
  const std::optional<Q> stated = context.fields.quantity<Q>(key);
  if (!stated && !known) {
    context.fields.fault(
        key, fmt::format("neither this nor a known type is given; expected a type such as {}, or "
                         "the value; write one of them",
                         vr_types_near({})));
  }
  return stated ? *stated : known.value_or(Q());
}

/// Fault about a type that the library does not hold.
void refuse_type(PartContext& context, const std::string& type, const std::string& near,
                 const char* next_step) {
  context.fields.fault("type", fmt::format("{} is not in the part library; expected one of {}; {}",
                                           in_quotes(type), near, next_step));
}

/// The driven point of the record over that of the library; empty when plate volts and amps are
/// in neither.
std::optional<DrivenPoint> read_driven(PartContext& context, const PowerTubeType* known) {
  FieldReader& fields = context.fields;
  const auto plate = fields.quantity<Volts>("driven_plate_volts");
  const auto plate_a = fields.quantity<Amps>("driven_plate_current");
  const auto screen = fields.quantity<Volts>("driven_screen_volts");
  const auto screen_a = fields.quantity<Amps>("driven_screen_current");
  const auto bias = fields.quantity<Volts>("driven_grid_volts");
  const auto grid_a = fields.quantity<Amps>("driven_grid_current");
  const auto output = fields.quantity<Watts>("driven_output");
  std::optional<DrivenPoint> point = known != nullptr ? known->driven : std::nullopt;
  if (!plate && !plate_a && !screen && !screen_a && !bias && !grid_a && !output) {
    return point;
  }
  const bool needs_screen = known != nullptr && !known->triode && !point;
  if (!point && (!plate || !plate_a || (needs_screen && (!screen || !screen_a)))) {
    fields.fault("driven_plate_volts",
                 "the driven point is incomplete and the type has none of its own; expected volts "
                 "and amps of plate and screen; write them all, or none");
    return std::nullopt;
  }
  DrivenPoint made = point.value_or(DrivenPoint{});
  made.output = output ? output : (plate || plate_a ? std::nullopt : made.output);
  made.plate = plate.value_or(made.plate);
  made.plate_current = plate_a.value_or(made.plate_current);
  made.screen = screen.value_or(made.screen);
  made.screen_current = screen_a.value_or(made.screen_current);
  made.bias = bias.value_or(made.bias);
  made.grid_current = grid_a.value_or(made.grid_current);
  return made;
}

void read_ratings(PartContext& context, const PowerTubeType* known, PowerTube& part) {
  FieldReader& fields = context.fields;
  const auto service = fields.choice("service");
  const bool amateur = service && *service == 1;
  if (known != nullptr) {
    part.ratings = amateur && known->amateur ? *known->amateur : known->continuous;
    part.ratings_source = std::string(known->source);
  }
  const auto replace = [](auto& rating, const auto& stated) { rating = stated ? stated : rating; };
  const auto plate = fields.quantity<Volts>("plate_volts");
  const auto screen = fields.quantity<Volts>("screen_volts");
  const auto plate_w = fields.quantity<Watts>("plate_watts");
  const auto screen_w = fields.quantity<Watts>("screen_watts");
  if (plate || screen || plate_w || screen_w) {
    part.ratings_source = "rating in the record, else " + part.ratings_source;
  }
  replace(part.ratings.plate_volts, plate);
  replace(part.ratings.screen_volts, screen);
  replace(part.ratings.plate_watts, plate_w);
  replace(part.ratings.screen_watts, screen_w);
}

}  // namespace

VrTube build_vr_tube(PartContext& context, const std::string& type) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  const VrType* known = find_vr_type(type);
  if (known == nullptr && !type.empty() && context.fields.node("run_volts") == nullptr) {
    refuse_type(context, type, vr_types_near(type), "correct it, or write volts and amps");
  }
  VrTube part;
  part.plus = ends[0];
  part.minus = ends[1];
  const auto of_type = [known](auto VrType::*member) {
    return known != nullptr ? std::optional(known->*member) : std::nullopt;
  };
  part.run = stated_or(context, "run_volts", of_type(&VrType::run));
  part.strike = stated_or(context, "strike_volts", of_type(&VrType::strike));
  part.regulation = context.fields.quantity_or(
      "regulation", of_type(&VrType::regulation).value_or(kUsualRegulation));
  part.least = stated_or(context, "least_current", of_type(&VrType::least));
  part.most = stated_or(context, "most_current", of_type(&VrType::most));
  if (part.strike < part.run) {
    context.fields.fault("strike_volts",
                         fmt::format("{:g} V is below the run volts {:g} V; expected more, as the "
                                     "gas must first break down; exchange or correct them",
                                     part.strike.si(), part.run.si()));
  }
  if (part.most <= part.least && part.most > Amps()) {
    context.fields.fault("most_current",
                         fmt::format("{:g} A is not above the least current {:g} A; expected the "
                                     "upper end of the window; correct one of them",
                                     part.most.si(), part.least.si()));
  }
  return part;
}

PowerTube build_power_tube(PartContext& context, const std::string& type) {
  const std::vector<NodeIndex> ends = context.read_terminals();
  const PowerTubeType* known = find_power_tube_type(type);
  if (known == nullptr && !type.empty()) {
    refuse_type(context, type, power_tube_types_near(type),
                "correct it, or write the nearest type with ratings and driven point of your own");
  }
  PowerTube part;
  part.plate = ends[0];
  part.screen = ends[1];
  part.grid = ends[2];
  part.cathode = ends[3];
  part.count = context.fields.count("count").value_or(1);
  if (const auto key = context.fields.choice("key")) {
    constexpr std::array kKeys{TubeKey::none, TubeKey::cathode, TubeKey::screen};
    part.key = kKeys.at(*key);
  }
  read_ratings(context, known, part);
  const auto key_down = context.fields.choice("key_down");
  const std::optional<DrivenPoint> point = read_driven(context, known);
  if (key_down && *key_down == 0 && !point) {
    context.fields.fault("key_down",
                         fmt::format("{} has no driven point in the part library; expected one; "
                                     "write driven_plate_volts and the others",
                                     in_quotes(type)));
  }
  part.driven = key_down && *key_down == 1 ? std::nullopt : point;
  if (known != nullptr) {
    part.triode = known->triode;
    part.law = law_through(known->point, known->tail_v);
    if (part.triode && (part.screen != kOpenNode || part.key == TubeKey::screen)) {
      context.fields.fault("nodes", fmt::format("{} is a triode and has no screen; expected "
                                                "'screen: open' and no key in the screen; "
                                                "correct it",
                                                in_quotes(type)));
    }
  }
  return part;
}

}  // namespace firstglow::core
