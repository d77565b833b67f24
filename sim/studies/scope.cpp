#include "sim/studies/scope.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/stack.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

/// Of the supplies that stand this close to the highest, the one with the least ripple is watched.
constexpr double kNearHighest = 0.75;
/// A rectifier that is open shows in the mean or the swing by more than this ...
constexpr double kShows = 0.03;
/// ... and leaves more than this of the mean when another leg goes on.
constexpr double kLeft = 0.05;

std::optional<core::NodeIndex> watched_node(const core::Rig& rig, const ReadingSheet& sheet) {
  const std::vector<netlists::StackJoint> joints = netlists::stack_joints(rig);
  const auto is_supply = [&](std::size_t i) {
    const core::NodeIndex node = sheet.nodes[i];
    return is_dc_node(rig, node) &&
           std::none_of(joints.begin(), joints.end(),
                        [node](const netlists::StackJoint& joint) { return joint.node == node; });
  };
  double highest_v = 0.0;
  for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
    highest_v = is_supply(i) ? std::max(highest_v, std::abs(sheet.node_dc_v[i])) : highest_v;
  }
  std::optional<std::size_t> best;
  for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
    if (is_supply(i) && highest_v > 0.0 &&
        std::abs(sheet.node_dc_v[i]) >= kNearHighest * highest_v &&
        (!best || sheet.node_vpp[i] < sheet.node_vpp[*best])) {
      best = i;
    }
  }
  return best ? std::optional(sheet.nodes[*best]) : std::nullopt;
}

ScopePicture picture_of(const SteadyRun& run, core::NodeIndex node) {
  ScopePicture picture;
  picture.time_s = run.cycle.time_s();
  picture.ac_v = run.cycle.node_v(node);
  picture.mean_v = mean_of({picture.time_s, picture.ac_v});
  picture.swing_vpp = highest_of(picture.ac_v) - lowest_of(picture.ac_v);
  for (double& volts : picture.ac_v) {
    volts -= picture.mean_v;
  }
  return picture;
}

/// The first rectifier whose loss the supply shows and survives.
std::optional<ScopePicture> with_one_open(Engine& engine, const core::Rig& rig,
                                          netlists::Situation situation, core::NodeIndex node,
                                          const ScopePicture& good) {
  for (const core::Part& part : rig.parts) {
    if (core::rectifier_paths(part).empty()) {
      continue;
    }
    situation.lifted = {part.designator};
    try {
      SteadyRunner runner(engine, rig);
      ScopePicture open = picture_of(runner.run(situation), node);
      open.open_part = part.designator;
      const bool shows = std::abs(open.mean_v - good.mean_v) > kShows * std::abs(good.mean_v) ||
                         std::abs(open.swing_vpp - good.swing_vpp) > kShows * std::abs(good.mean_v);
      if (shows && std::abs(open.mean_v) > kLeft * std::abs(good.mean_v)) {
        return open;
      }
    } catch (const core::SimulationError&) {
      continue;  // another rectifier may give the picture
    }
  }
  return std::nullopt;
}

}  // namespace

ScopeResult scope(const core::Rig& rig, WorkerPool& pool) {
  ScopeResult result;
  result.stage = netlists::stages_of(rig).back();
  pool.for_each(1, [&](Engine& engine, std::size_t /*unused*/) {
    netlists::Situation situation;
    situation.stage = result.stage;
    try {
      SteadyRunner runner(engine, rig);
      const SteadyRun run = runner.run(situation);
      const auto node = watched_node(rig, sheet_of(rig, run));
      if (!node) {
        return;
      }
      result.node = rig.node_name(*node);
      result.pictures.push_back(picture_of(run, *node));
      if (auto open = with_one_open(engine, rig, situation, *node, result.pictures.front())) {
        result.pictures.push_back(std::move(*open));
      }
    } catch (const core::SimulationError& error) {
      ScopePicture none;
      none.failure = error.what();
      result.pictures.push_back(std::move(none));
    }
  });
  return result;
}

}  // namespace firstglow::sim
