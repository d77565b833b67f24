#pragma once
/// @file
/// Which readings does one steady run give, in a fixed order that two runs can be compared in?

#include <vector>

#include "core/rig.hpp"
#include "netlists/stack.hpp"
#include "sim/studies/rampup.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// Every reading of one step of one situation. Vectors run over the same nodes, parts and joints
/// for all runs of one stage.
struct ReadingSheet {
  double variac_vrms = 0.0;  ///< a meter at the variac output, loaded
  double mains_a = 0.0, mains_w = 0.0;
  double lamp_vrms = 0.0, lamp_w = 0.0;
  std::vector<core::NodeIndex> nodes;
  std::vector<double> node_dc_v, node_ac_vrms, node_vpp;
  std::vector<int> parts;
  std::vector<double> part_w;
  std::vector<netlists::StackJoint> joints;
  std::vector<double> joint_fraction;
  std::vector<HeaterState> heaters;  ///< of the rectifier tubes

  std::vector<int> regulators;      ///< part indices of the vr tubes in circuit
  std::vector<bool> regulator_lit;  ///< does it glow?
  std::vector<double> regulator_v;  ///< DC across it

  /// The figures that get a band, in a fixed order: mains A, W, lamp V, W, node DC, part W, joints,
  /// node AC.
  [[nodiscard]] std::vector<double> banded() const;
};

/// What a meter and a scope show of one node; below the noise of the solver (5 mV) zero.
struct NodeFigures {
  double mean_v = 0.0, ac_vrms = 0.0, vpp = 0.0;
};
[[nodiscard]] NodeFigures node_figures(const RigRun& run, core::NodeIndex node);

[[nodiscard]] ReadingSheet sheet_of(const core::Rig& rig, const SteadyRun& run);

/// Does this capacitor filter, or does it only bypass?
[[nodiscard]] bool filters(const core::Capacitor& capacitor);

/// Is this node a rectified DC node (a capacitor that filters ends there, or a choke)?
[[nodiscard]] bool is_dc_node(const core::Rig& rig, core::NodeIndex node);

/// Is the n-th node of the sheet a supply: a DC node with more than a fifth of its AC in DC? Less
/// is a winding's end to a meter.
[[nodiscard]] bool is_supply(const core::Rig& rig, const ReadingSheet& sheet, std::size_t n);

/// Index into sheet.nodes of the DC node of the most volts; of the node of the most AC volts when
/// no node has DC.
[[nodiscard]] std::size_t highest_node(const ReadingSheet& sheet);

}  // namespace firstglow::sim
