#pragma once
/// @file
/// How does one map of the record become one typed part?

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/field_reader.hpp"
#include "core/rig.hpp"

namespace firstglow::core {

/// The nodes named so far; the chassis is there from the start.
class NodeTable {
 public:
  NodeTable(std::string chassis, SourcePosition where) : nodes_{{std::move(chassis), where}} {}

  /// Index of the node of this name, made when it is new; kOpenNode for the word `open`.
  NodeIndex index(const std::string& name, SourcePosition where);
  [[nodiscard]] const std::vector<Node>& nodes() const { return nodes_; }

 private:
  std::vector<Node> nodes_;
  std::map<std::string, NodeIndex, std::less<>> by_name_;
};

/// A part as far as it could be read.
struct ReadPart {
  Part part;
  bool connected = false;  ///< kind and all nodes are known, so the part may be drawn in the graph
};

/// Reads the entry `map` of `parts`, whose key is the designator. Faults are added to `faults`.
[[nodiscard]] ReadPart read_part(const RecordNode& map, NodeTable& nodes,
                                 std::vector<InputFault>& faults);

/// What the builders of the kinds share.
struct PartContext {
  const KindSpec& kind;
  FieldReader& fields;
  NodeTable& nodes;
  std::vector<InputFault>& faults;
  bool connected = true;

  /// The ends of the part in the order of KindSpec::terminals; kOpenNode where unreadable.
  [[nodiscard]] std::vector<NodeIndex> read_terminals();
  /// One node name; adds a fault and clears `connected` when it is none.
  [[nodiscard]] NodeIndex read_node(const RecordNode& name, const std::string& what);
};

[[nodiscard]] MainsInlet build_mains_inlet(PartContext& context);
[[nodiscard]] Fuse build_fuse(PartContext& context);
[[nodiscard]] SeriesLamp build_series_lamp(PartContext& context);
[[nodiscard]] Variac build_variac(PartContext& context);
[[nodiscard]] PowerTransformer build_transformer(PartContext& context);
[[nodiscard]] NtcLimiter build_ntc_limiter(PartContext& context);
[[nodiscard]] StepStart build_step_start(PartContext& context);
/// Age, can and life of an electrolytic.
[[nodiscard]] ElectrolyticHistory read_electrolytic_history(PartContext& context);
/// The keys of a choke beside its value, into `part`, whose value is read already.
void read_choke_law(PartContext& context, Choke& part);
/// The readings that place the knee of a core, into `part`, whose other readings are read already.
void read_core_knee(PartContext& context, PowerTransformer& part);
[[nodiscard]] SiliconDiode build_silicon_diode(PartContext& context, const std::string& type);
[[nodiscard]] VacuumRectifier build_vacuum_rectifier(PartContext& context, const std::string& type);
[[nodiscard]] GasRectifier build_gas_rectifier(PartContext& context, const std::string& type);
[[nodiscard]] SeleniumRectifier build_selenium_rectifier(PartContext& context);
[[nodiscard]] VrTube build_vr_tube(PartContext& context, const std::string& type);
[[nodiscard]] PowerTube build_power_tube(PartContext& context, const std::string& type);

}  // namespace firstglow::core
