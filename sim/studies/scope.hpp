#pragma once
/// @file
/// What would a scope on the main supply show, with every rectifier at work and with one open?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/worker_pool.hpp"

namespace firstglow::sim {

/// One mains cycle of the AC part of a supply.
struct ScopePicture {
  std::string open_part;  ///< rectifier taken out; empty: none
  double mean_v = 0.0, swing_vpp = 0.0;
  std::vector<double> time_s, ac_v;
  std::string failure;  ///< not empty: no picture, and why
};

struct ScopeResult {
  std::string node;  ///< the supply of most DC volts; empty: the rig has none
  netlists::Stage stage = netlists::Stage::tubes_out;
  std::vector<ScopePicture> pictures;  ///< all at work first
};

/// Steady state at nominal line and parts on the rig's heaviest stage: with all parts, and with the
/// first rectifier out that feeds the supply. Left out: hum picked up by the probe; the rise and
/// fall of the line from cycle to cycle.
[[nodiscard]] ScopeResult scope(const core::Rig& rig, WorkerPool& pool);

}  // namespace firstglow::sim
