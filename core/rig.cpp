#include "core/rig.hpp"

#include <algorithm>

namespace firstglow::core {

const Part* Rig::find(std::string_view designator) const {
  for (const Part& part : parts) {
    if (part.designator == designator) {
      return &part;
    }
  }
  return nullptr;
}

const MainsInlet& Rig::mains() const {
  for (const Part& part : parts) {
    if (const auto* inlet = std::get_if<MainsInlet>(&part.data)) {
      return *inlet;
    }
  }
  throw ContractError("a validated rig has one mains inlet; this one has none");
}

const std::string& Rig::node_name(NodeIndex node) const {
  static const std::string kOpenName = "open";
  return node == kOpenNode ? kOpenName : nodes.at(static_cast<std::size_t>(node)).name;
}

namespace {

void append(std::vector<NodeIndex>& all, const std::vector<NodeIndex>& more) {
  all.insert(all.end(), more.begin(), more.end());
}

struct TerminalsOf {
  std::vector<NodeIndex> operator()(const MainsInlet& p) const { return {p.line, p.neutral}; }
  std::vector<NodeIndex> operator()(const Fuse& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const SeriesLamp& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const Variac& p) const { return {p.input, p.output, p.common}; }
  std::vector<NodeIndex> operator()(const PowerTransformer& p) const {
    std::vector<NodeIndex> all = p.primary.nodes;
    for (const Winding& winding : p.secondaries) {
      append(all, winding.nodes);
    }
    return all;
  }
  std::vector<NodeIndex> operator()(const SiliconDiode& p) const { return {p.anode, p.cathode}; }
  std::vector<NodeIndex> operator()(const Resistor& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const Capacitor& p) const { return {p.plus, p.minus}; }
  std::vector<NodeIndex> operator()(const Choke& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const ResistiveLoad& p) const { return {p.plus, p.minus}; }
  std::vector<NodeIndex> operator()(const CurrentLoad& p) const { return {p.plus, p.minus}; }
  std::vector<NodeIndex> operator()(const Heater& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const VrTube& p) const { return {p.plus, p.minus}; }
  std::vector<NodeIndex> operator()(const PowerTube& p) const {
    std::vector<NodeIndex> all;
    for (const NodeIndex node : {p.plate, p.cathode, p.screen, p.grid}) {
      if (node != kOpenNode && std::find(all.begin(), all.end(), node) == all.end()) {
        all.push_back(node);
      }
    }
    return all;
  }
  std::vector<NodeIndex> operator()(const NtcLimiter& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const StepStart& p) const { return {p.a, p.b}; }
  std::vector<NodeIndex> operator()(const VacuumRectifier& p) const {
    return each_once({p.plate_1, p.cathode, p.heater.a, p.heater.b, p.plate_2}, 4);
  }
  std::vector<NodeIndex> operator()(const GasRectifier& p) const {
    return each_once({p.plate, p.cathode, p.heater.a, p.heater.b}, 4);
  }
  std::vector<NodeIndex> operator()(const SeleniumRectifier& p) const {
    return {p.anode, p.cathode};
  }

  /// Nodes without repetition; an open one stays when it is among the first `needed`.
  static std::vector<NodeIndex> each_once(const std::vector<NodeIndex>& nodes, std::size_t needed) {
    std::vector<NodeIndex> once;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
      const bool seen = std::find(once.begin(), once.end(), nodes[i]) != once.end();
      if (nodes[i] == kOpenNode ? i < needed : !seen) {
        once.push_back(nodes[i]);
      }
    }
    return once;
  }
};

struct RectifierPathsOf {
  using Paths = std::vector<RectifierPath>;
  Paths operator()(const SiliconDiode& p) const { return {{p.anode, p.cathode}}; }
  Paths operator()(const SeleniumRectifier& p) const { return {{p.anode, p.cathode}}; }
  Paths operator()(const GasRectifier& p) const { return {{p.plate, p.cathode}}; }
  Paths operator()(const VacuumRectifier& p) const {
    if (p.plate_2 == kOpenNode) {
      return {{p.plate_1, p.cathode}};
    }
    return {{p.plate_1, p.cathode}, {p.plate_2, p.cathode}};
  }
  template <class Other>
  Paths operator()(const Other& /*no rectifier*/) const {
    return {};
  }
};

}  // namespace

std::vector<NodeIndex> terminals(const Part& part) { return std::visit(TerminalsOf{}, part.data); }

std::vector<RectifierPath> rectifier_paths(const Part& part) {
  return std::visit(RectifierPathsOf{}, part.data);
}

const RectifierHeater* rectifier_heater(const Part& part) {
  if (const auto* vacuum = std::get_if<VacuumRectifier>(&part.data)) {
    return &vacuum->heater;
  }
  const auto* gas = std::get_if<GasRectifier>(&part.data);
  return gas != nullptr ? &gas->heater : nullptr;
}

}  // namespace firstglow::core
