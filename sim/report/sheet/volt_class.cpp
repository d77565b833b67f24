#include "sim/report/sheet/volt_class.hpp"

#include <algorithm>
#include <cmath>

namespace firstglow::sim {
namespace {

constexpr double kTouchPeak = 42.4, kTouchDc = 60.0, kHigh = 600.0;

VoltClass class_at(double peak_v) {
  if (peak_v > kHigh) {
    return VoltClass::above_600;
  }
  if (peak_v > kTouchDc) {
    return VoltClass::from_60;
  }
  return peak_v > kTouchPeak ? VoltClass::from_42 : VoltClass::below_42;
}

/// The nodes a part of the mains side joins; none for other parts.
struct JoinedToLine {
  using Nodes = std::vector<core::NodeIndex>;
  Nodes operator()(const core::MainsInlet& p) const { return {p.line, p.neutral}; }
  Nodes operator()(const core::Fuse& p) const { return {p.a, p.b}; }
  Nodes operator()(const core::SeriesLamp& p) const { return {p.a, p.b}; }
  Nodes operator()(const core::Variac& p) const { return {p.input, p.output, p.common}; }
  Nodes operator()(const core::NtcLimiter& p) const { return {p.a, p.b}; }
  Nodes operator()(const core::StepStart& p) const { return {p.a, p.b}; }
  Nodes operator()(const core::PowerTransformer& p) const { return p.primary.nodes; }
  Nodes operator()(const core::Resistor& p) const { return {p.a, p.b}; }
  Nodes operator()(const core::Capacitor& p) const { return {p.plus, p.minus}; }
  Nodes operator()(const core::Choke& p) const { return {p.a, p.b}; }
  template <class Other>
  Nodes operator()(const Other& /*unused*/) const {
    return {};
  }
};

bool is_hot(const std::vector<bool>& hot, core::NodeIndex node) {
  return node > core::kChassis && hot.at(static_cast<std::size_t>(node));
}

/// Marks what `nodes` joins to the line. @returns true when a node is new.
bool spread(const std::vector<core::NodeIndex>& nodes, std::vector<bool>& hot) {
  const bool touches = std::any_of(nodes.begin(), nodes.end(),
                                   [&hot](core::NodeIndex node) { return is_hot(hot, node); });
  bool changed = false;
  for (const core::NodeIndex node : nodes) {
    if (touches && node > core::kChassis && !is_hot(hot, node)) {
      hot.at(static_cast<std::size_t>(node)) = true;
      changed = true;
    }
  }
  return changed;
}

/// The step of the highest variac volts; nullptr when it has no answer: a lower one would pass for
/// the whole.
const RampStep* full_step(const RampPass& pass) {
  const auto full =
      std::max_element(pass.steps.begin(), pass.steps.end(),
                       [](const auto& a, const auto& b) { return a.variac_vrms < b.variac_vrms; });
  return full != pass.steps.end() && full->failure.empty() ? &*full : nullptr;
}

NodeVolts volts_of(const NodeReading& reading) {
  NodeVolts volts;
  volts.node = reading.node;
  volts.dc_v = std::abs(reading.dc_v.low) > std::abs(reading.dc_v.high) ? reading.dc_v.low
                                                                        : reading.dc_v.high;
  volts.ac_vrms = std::max(reading.ac_v.high, reading.ac_vrms);
  const double more = reading.ac_vrms > 0.0 ? volts.ac_vrms / reading.ac_vrms : 1.0;
  volts.peak_v = std::abs(volts.dc_v) + reading.ripple_vpp * more;
  volts.volt_class = class_at(volts.peak_v);
  return volts;
}

}  // namespace

const char* class_words(VoltClass volt_class) {
  switch (volt_class) {
    case VoltClass::mains:
      return "mains side";
    case VoltClass::above_600:
      return "over 600 V";
    case VoltClass::from_60:
      return "60 to 600 V";
    case VoltClass::from_42:
      return "42 to 60 V";
    case VoltClass::below_42:
      return "below 42 V";
    case VoltClass::unknown:
      break;
  }
  return "NO PREDICTION";
}

std::vector<bool> on_mains_side(const core::Rig& rig) {
  std::vector<bool> hot(rig.nodes.size(), false);
  for (const core::NodeIndex node : {rig.mains().line, rig.mains().neutral}) {
    if (node > core::kChassis) {
      hot.at(static_cast<std::size_t>(node)) = true;
    }
  }
  for (bool changed = true; changed;) {
    changed = false;
    for (const core::Part& part : rig.parts) {
      changed = spread(std::visit(JoinedToLine{}, part.data), hot) || changed;
    }
  }
  return hot;
}

std::vector<StageVolts> stage_volts(const core::Rig& rig, const RampupResult& rampup) {
  const std::vector<bool> mains = on_mains_side(rig);
  std::vector<StageVolts> stages;
  for (const RampPass& pass : rampup.passes) {
    if (stages.empty() || stages.back().stage != pass.stage) {
      stages.push_back({pass.stage, false, false, {}});
    }
    if (pass.with_lamp && stages.back().without_lamp) {
      continue;  // the lamp takes volts away
    }
    const RampStep* step = full_step(pass);
    stages.back().without_lamp = !pass.with_lamp;
    stages.back().known = step != nullptr;
    stages.back().nodes.clear();
    if (step == nullptr) {
      continue;
    }
    for (const NodeReading& reading : step->nodes) {
      NodeVolts volts = volts_of(reading);
      for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
        if (mains[i] && rig.nodes[i].name == volts.node) {
          volts.volt_class = VoltClass::mains;
        }
      }
      stages.back().nodes.push_back(volts);
    }
  }
  return stages;
}

std::vector<NodeVolts> worst_volts(const core::Rig& rig, const std::vector<StageVolts>& stages) {
  const std::vector<bool> mains = on_mains_side(rig);
  const bool all_known = std::all_of(stages.begin(), stages.end(),
                                     [](const StageVolts& stage) { return stage.known; });
  std::vector<NodeVolts> worst;
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    NodeVolts most;
    most.node = rig.nodes[i].name;
    most.volt_class = mains[i] ? VoltClass::mains : VoltClass::unknown;
    for (const StageVolts& stage : stages) {
      for (const NodeVolts& volts : stage.nodes) {
        const bool known = most.volt_class != VoltClass::unknown;
        if (volts.node == most.node && (!known || volts.peak_v > most.peak_v)) {
          most = volts;
        }
      }
    }
    if (!all_known && !mains[i]) {
      most = NodeVolts{};  // a stage without an answer may go higher
      most.node = rig.nodes[i].name;
    }
    worst.push_back(most);
  }
  return worst;
}

}  // namespace firstglow::sim
