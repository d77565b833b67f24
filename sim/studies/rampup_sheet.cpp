#include "sim/studies/rampup_sheet.hpp"

#include <algorithm>
#include <cmath>

#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/part_stress.hpp"

namespace firstglow::sim {
namespace {

/// Capacitors below this only bypass; the node behind one is no filter node [F].
constexpr double kFilterFarads = 0.25e-6;
/// DC below this share of the AC on a node is a winding's offset, not a supply.
constexpr double kDcShare = 0.05;
constexpr double kDcOverAc = 0.2;

/// Below these a reading is the noise of the solver and none a meter would show.
constexpr double kNoiseVolts = 5e-3;
constexpr double kNoiseWatts = 1e-6;

double or_zero(double value, double noise) { return std::abs(value) < noise ? 0.0 : value; }

void add_nodes(const core::Rig& rig, const RigRun& run, ReadingSheet& sheet) {
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    const auto node = static_cast<core::NodeIndex>(i);
    if (!run.has_node(node)) {
      continue;
    }
    const NodeFigures figures = node_figures(run, node);
    sheet.nodes.push_back(node);
    sheet.node_dc_v.push_back(figures.mean_v);
    sheet.node_ac_vrms.push_back(figures.ac_vrms);
    sheet.node_vpp.push_back(figures.vpp);
  }
}

void add_parts(const core::Rig& rig, const RigRun& run, ReadingSheet& sheet) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (const auto watts = dissipation_w(rig, run, static_cast<int>(i))) {
      sheet.parts.push_back(static_cast<int>(i));
      sheet.part_w.push_back(or_zero(*watts, kNoiseWatts));
    }
  }
}

void add_joints(const core::Rig& rig, const RigRun& run, ReadingSheet& sheet) {
  for (const netlists::StackJoint& joint : netlists::stack_joints(rig)) {
    if (!run.has_node(joint.node) || !run.has_node(joint.top) || !run.has_node(joint.bottom)) {
      continue;
    }
    const double whole_v = mean_of({run.time_s(), run.volts_between(joint.top, joint.bottom)});
    const double lower_v = mean_of({run.time_s(), run.volts_between(joint.node, joint.bottom)});
    if (std::abs(whole_v) > kNoiseVolts) {
      sheet.joints.push_back(joint);
      sheet.joint_fraction.push_back(lower_v / whole_v);
    }
  }
}

void add_regulators(const core::Rig& rig, const RigRun& run, ReadingSheet& sheet) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* tube = std::get_if<core::VrTube>(&rig.parts[i].data);
    if (tube != nullptr && run.has_node(tube->plus) && run.has_node(tube->minus) &&
        run.built().part_in[i]) {
      sheet.regulators.push_back(static_cast<int>(i));
      sheet.regulator_lit.push_back(run.built().lit.contains(static_cast<int>(i)));
      sheet.regulator_v.push_back(
          mean_of({run.time_s(), run.volts_between(tube->plus, tube->minus)}));
    }
  }
}

struct FiltersAt {
  core::NodeIndex node;
  bool operator()(const core::Capacitor& p) const {
    return (p.plus == node || p.minus == node) && filters(p);
  }
  bool operator()(const core::Choke& p) const { return p.a == node || p.b == node; }
  template <class Other>
  bool operator()(const Other& /*unused*/) const {
    return false;
  }
};

bool rectifies_at(const core::Part& part, core::NodeIndex node) {
  const std::vector<core::RectifierPath> paths = core::rectifier_paths(part);
  return std::any_of(paths.begin(), paths.end(), [node](const core::RectifierPath& path) {
    return path.cathode == node || path.anode == node;
  });
}

bool winding_ends_at(const core::Rig& rig, core::NodeIndex node) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [node](const core::Part& part) {
    if (!std::holds_alternative<core::PowerTransformer>(part.data)) {
      return false;
    }
    const std::vector<core::NodeIndex> ends = core::terminals(part);
    return std::count(ends.begin(), ends.end(), node) > 0;
  });
}

}  // namespace

std::vector<double> ReadingSheet::banded() const {
  std::vector<double> figures{mains_a, mains_w, lamp_vrms, lamp_w};
  for (const auto* part : {&node_dc_v, &part_w, &node_ac_vrms, &joint_fraction}) {
    figures.insert(figures.end(), part->begin(), part->end());
  }
  return figures;
}

NodeFigures node_figures(const RigRun& run, core::NodeIndex node) {
  const std::vector<double>& volts = run.node_v(node);
  return {or_zero(mean_of({run.time_s(), volts}), kNoiseVolts),
          or_zero(ac_rms_of({run.time_s(), volts}), kNoiseVolts),
          or_zero(highest_of(volts) - lowest_of(volts), kNoiseVolts)};
}

ReadingSheet sheet_of(const core::Rig& rig, const SteadyRun& steady) {
  const RigRun& run = steady.cycle;
  ReadingSheet sheet;
  sheet.variac_vrms = rms_of({run.time_s(), run.variac_v()});
  const std::vector<double> amps = run.mains_a();
  sheet.mains_a = rms_of({run.time_s(), amps});
  sheet.mains_w = mean_product_of(run.time_s(), run.mains_v(), amps);
  if (const auto lamp = run.lamp_v()) {
    sheet.lamp_vrms = rms_of({run.time_s(), *lamp});
    const auto name = std::find(steady.warm_names.begin(), steady.warm_names.end(), "lamp");
    if (name != steady.warm_names.end()) {
      const auto index = static_cast<std::size_t>(name - steady.warm_names.begin());
      sheet.lamp_w = sheet.lamp_vrms * sheet.lamp_vrms / steady.point.warm_ohm.at(index);
    }
  }
  add_nodes(rig, run, sheet);
  add_parts(rig, run, sheet);
  add_joints(rig, run, sheet);
  sheet.heaters = steady.heaters;
  add_regulators(rig, run, sheet);
  return sheet;
}

bool filters(const core::Capacitor& capacitor) {
  return capacitor.dielectric == core::Dielectric::electrolytic ||
         capacitor.value.nominal().si() >= kFilterFarads;
}

bool is_dc_node(const core::Rig& rig, core::NodeIndex node) {
  const bool heats_rectifier =
      std::any_of(rig.parts.begin(), rig.parts.end(), [node](const core::Part& part) {
        const core::RectifierHeater* heater = core::rectifier_heater(part);
        return heater != nullptr && heater->direct && (heater->a == node || heater->b == node);
      });
  return node != core::kChassis && (heats_rectifier || !winding_ends_at(rig, node)) &&
         std::any_of(rig.parts.begin(), rig.parts.end(), [node](const core::Part& part) {
           return std::visit(FiltersAt{node}, part.data) || rectifies_at(part, node);
         });
}

bool is_supply(const core::Rig& rig, const ReadingSheet& sheet, std::size_t n) {
  return is_dc_node(rig, sheet.nodes[n]) &&
         std::abs(sheet.node_dc_v[n]) > kDcOverAc * sheet.node_ac_vrms[n];
}

std::size_t highest_node(const ReadingSheet& sheet) {
  std::size_t best_dc = 0;
  std::size_t best_ac = 0;
  for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
    if (std::abs(sheet.node_dc_v[i]) > std::abs(sheet.node_dc_v[best_dc])) {
      best_dc = i;
    }
    if (sheet.node_ac_vrms[i] > sheet.node_ac_vrms[best_ac]) {
      best_ac = i;
    }
  }
  const bool has_dc = std::abs(sheet.node_dc_v[best_dc]) > kDcShare * sheet.node_ac_vrms[best_ac];
  return has_dc ? best_dc : best_ac;
}

}  // namespace firstglow::sim
