#pragma once
/// @file
/// Which way can current go through the rig, and which part is drawn against it?
///
/// The rig is taken as a graph: silicon diodes carry current from anode to cathode only, every
/// other part both ways. Windings of a transformer are not joined to each other.

#include <vector>

#include "core/rig.hpp"

namespace firstglow::core {

/// What an edge does for the questions asked here.
enum class EdgeRole {
  source,     ///< section of a secondary, or the mains inlet
  primary,    ///< section of a primary
  diode,      ///< from anode to cathode only
  protector,  ///< fuse, lamp, choke or variac: passes current, holds no direction
  resistance,
  capacitor,
  drain,  ///< bleeder, equaliser, load: takes current, never charges a capacitor
};

struct CurrentEdge {
  NodeIndex from = kOpenNode;
  NodeIndex to = kOpenNode;
  EdgeRole role = EdgeRole::resistance;
  bool is_fuse = false;
  int part = -1;  ///< index into Rig::parts; set by the graph
};

/// The edges of one part, ends left open included; `part` is not set.
[[nodiscard]] std::vector<CurrentEdge> edges_of(const Part& part);

/// Adds a fault for each rectifier that can never conduct, each loop of rectifiers that shorts
/// a winding, and each electrolytic that the supply can only charge backwards.
///
/// The last two search simple paths with a bounded number of steps; when the bound is hit or paths
/// of both kinds exist nothing is said, and the simulation judges.
void check_current_paths(const Rig& rig, std::vector<InputFault>& faults);

}  // namespace firstglow::core
