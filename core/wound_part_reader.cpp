#include <fmt/format.h>
#include <fmt/ranges.h>

#include <numeric>

#include "core/part_reader.hpp"
#include "core/part_types.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

// No-load estimate from the rated volt-amperes: common practice, no source.
constexpr double kMagnetisingShare = 0.10;
constexpr double kLossShare = 0.03;
constexpr std::size_t kMostWindings = 32;

RmsVolts total_volts(const Winding& winding) {
  return std::accumulate(winding.section_volts.begin(), winding.section_volts.end(), RmsVolts());
}

std::vector<NodeIndex> read_winding_nodes(PartContext& context, FieldReader& fields) {
  const RecordNode* list = fields.node("nodes");
  if (list == nullptr) {
    context.connected = false;
    return {};
  }
  if (list->shape != RecordShape::list || list->children.size() < 2) {
    context.connected = false;
    fields.fault("nodes",
                 "expected a list of two nodes or more, in order along the winding; "
                 "write the two ends, with the taps between them");
    return {};
  }
  std::vector<NodeIndex> nodes;
  for (const RecordNode& name : list->children) {
    nodes.push_back(context.read_node(name, fmt::format("{}, key 'nodes'", fields.subject())));
  }
  return nodes;
}

/// A count of values that does not fit the nodes is a fault of the winding.
template <class Q>
std::vector<Q> read_per_section(PartContext& context, FieldReader& fields, std::string_view key,
                                std::size_t node_count) {
  std::vector<Q> values = fields.sections<Q>(key);
  if (!values.empty() && node_count >= 2 && values.size() != node_count - 1) {
    context.connected = false;
    fields.fault(
        key, fmt::format("{} value{} for {} nodes; expected one for each section between "
                         "two neighbouring nodes ({}); write them as a list or as '{}x...'",
                         values.size(), values.size() == 1 ? "" : "s", node_count, node_count - 1,
                         node_count - 1));
  }
  return values;
}

Winding read_winding(PartContext& context, const RecordNode& map, const std::string& subject) {
  Winding winding;
  winding.name = map.key;
  winding.where = map.key_where;
  if (map.shape != RecordShape::map) {
    context.connected = false;
    context.faults.push_back(
        {map.where, fmt::format("{}: {} is found; expected a map with nodes, volts and ohms; "
                                "write them",
                                subject, shape_words(map.shape))});
    return winding;
  }
  FieldReader fields(map, winding_fields(), subject, context.faults);
  winding.nodes = read_winding_nodes(context, fields);
  winding.section_volts =
      read_per_section<RmsVolts>(context, fields, "volts", winding.nodes.size());
  winding.section_ohms = read_per_section<Ohms>(context, fields, "ohms", winding.nodes.size());
  winding.rated_current = fields.quantity<Amps>("rated_current");
  return winding;
}

void read_secondaries(PartContext& context, PowerTransformer& part) {
  const RecordNode* all = context.fields.node("secondaries");
  if (all == nullptr) {
    context.connected = false;
    return;
  }
  if (all->shape != RecordShape::map || all->children.empty() ||
      all->children.size() > kMostWindings) {
    context.connected = false;
    context.fields.fault("secondaries",
                         fmt::format("expected a map with 1 to {} windings, name: winding; "
                                     "write each winding under a name of its own",
                                     kMostWindings));
    return;
  }
  for (const RecordNode& map : all->children) {
    if (!is_name(map.key) || map.key == "primary") {
      context.fields.fault_at(map.key_where,
                              fmt::format("{} is no winding name; expected {}, and not 'primary'; "
                                          "rename it",
                                          in_quotes(map.key), name_rule()));
    }
    part.secondaries.push_back(read_winding(
        context, map, fmt::format("{}, winding {}", context.fields.subject(), in_quotes(map.key))));
  }
}

/// Rated volt-amperes from the amps marked on the windings; empty when they do not say.
std::optional<double> rated_va(const PowerTransformer& part) {
  if (part.primary.rated_current) {
    return part.primary.rated_current->si() * total_volts(part.primary).si();
  }
  double sum_va = 0.0;
  for (const Winding& winding : part.secondaries) {
    if (!winding.rated_current) {
      return std::nullopt;
    }
    sum_va += winding.rated_current->si() * total_volts(winding).si();
  }
  return sum_va;
}

/// Fills the no-load figures the record leaves out: from the one that is there in the usual
/// proportion, else from the rated volt-amperes.
void assume_no_load(PartContext& context, PowerTransformer& part) {
  const double primary_v = total_volts(part.primary).si();
  const std::optional<double> va = rated_va(part);
  part.no_load_assumed = true;
  if (primary_v <= 0.0) {
    return;  // the primary volts are a fault already
  }
  if (part.no_load_current) {
    part.no_load_watts =
        Watts(kLossShare / kMagnetisingShare * primary_v * part.no_load_current->si());
  } else if (part.no_load_watts) {
    part.no_load_current =
        Amps(part.no_load_watts->si() * kMagnetisingShare / kLossShare / primary_v);
  } else if (va && *va > 0.0) {
    part.no_load_current = Amps(kMagnetisingShare * *va / primary_v);
    part.no_load_watts = Watts(kLossShare * *va);
  } else {
    context.fields.fault(
        "no_load_current",
        "neither no-load amps and watts nor the rated current of the primary or of "
        "every secondary is given; expected one of them; measure the primary amps "
        "with all secondaries open, or write the rated currents");
  }
}

}  // namespace

PowerTransformer build_transformer(PartContext& context) {
  FieldReader& fields = context.fields;
  PowerTransformer part;
  if (const RecordNode* primary = fields.node("primary")) {
    part.primary = read_winding(context, *primary, fmt::format("{}, primary", fields.subject()));
  } else {
    context.connected = false;
  }
  part.primary.name = "primary";
  read_secondaries(context, part);
  part.no_load_current = fields.quantity<Amps>("no_load_current");
  part.no_load_watts = fields.quantity<Watts>("no_load_watts");
  read_core_knee(context, part);
  if (!part.no_load_current || !part.no_load_watts) {
    assume_no_load(context, part);
    return part;
  }
  const double apparent_va = part.no_load_current->si() * total_volts(part.primary).si();
  if (apparent_va > 0.0 && part.no_load_watts->si() >= apparent_va) {
    fields.fault("no_load_watts",
                 fmt::format("{:g} W is not below the {:g} VA of the no-load current; expected "
                             "fewer watts than volts x amps; measure both again",
                             part.no_load_watts->si(), apparent_va));
  }
  return part;
}

SiliconDiode build_silicon_diode(PartContext& context, const std::string& type) {
  FieldReader& fields = context.fields;
  const std::vector<NodeIndex> ends = context.read_terminals();
  SiliconDiode part;
  part.anode = ends[0];
  part.cathode = ends[1];
  part.in_series = fields.count("in_series").value_or(1);
  part.piv = fields.quantity<Volts>("piv");
  part.average_current = fields.quantity<Amps>("average_current");
  part.repetitive_peak = fields.quantity<Amps>("repetitive_peak");
  part.surge_current = fields.quantity<Amps>("surge_current");
  part.equaliser = fields.quantity<Ohms>("equaliser");
  part.equaliser_tolerance =
      fields.tolerance("equaliser_tolerance").value_or(part.equaliser_tolerance);
  part.snubber = fields.quantity<Farads>("snubber");
  part.reverse_leakage = fields.quantity<Amps>("reverse_leakage");
  const auto avalanche = fields.choice("avalanche");
  part.avalanche = avalanche && *avalanche == 1;
  const DiodeType* known = find_diode_type(type);
  if (known == nullptr && !type.empty()) {
    fields.fault("type", fmt::format("{} is not in the part library; known near it: {}; leave the "
                                     "type out and write piv, average_current and surge_current, "
                                     "and put its name into 'note'",
                                     in_quotes(type), fmt::join(diode_types_near(type), ", ")));
  }
  if (known != nullptr) {
    part.piv = part.piv.value_or(known->piv);
    part.average_current = part.average_current.value_or(known->average_current);
    part.surge_current = part.surge_current.value_or(known->surge_current);
    part.repetitive_peak = part.repetitive_peak ? part.repetitive_peak : known->repetitive_peak;
  }
  const DiodeType& model = known != nullptr ? *known : plain_diode_model();
  part.saturation_a = model.saturation_a;
  part.emission = model.emission;
  part.series_ohm = model.series_ohm;
  part.junction_f = model.junction_f;
  return part;
}

}  // namespace firstglow::core
