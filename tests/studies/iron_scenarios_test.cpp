// Each rig of scenarios/ with iron to teach is held to its lesson by a run or two of its own.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <iterator>
#include <optional>
#include <string>

#include "core/error.hpp"
#include "core/rig_reader.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/check.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

core::Rig scenario(const std::string& name) {
  return core::read_rig_file(std::string(FIRSTGLOW_SOURCE_DIR) + "/scenarios/" + name +
                             "/rig.yaml");
}

core::NodeIndex node_of(const core::Rig& rig, const std::string& name) {
  const auto found = std::find_if(rig.nodes.begin(), rig.nodes.end(),
                                  [&](const core::Node& node) { return node.name == name; });
  return static_cast<core::NodeIndex>(found - rig.nodes.begin());
}

int part_of(const core::Rig& rig, const std::string& name) {
  return static_cast<int>(rig.find(name) - rig.parts.data());
}

void with_engine(const std::function<void(Engine&)>& work) {
  static WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) { work(engine); });
}

SteadyRun steady(const core::Rig& rig, const Situation& situation) {
  std::optional<SteadyRun> run;
  with_engine([&](Engine& engine) { run.emplace(SteadyRunner(engine, rig).run(situation)); });
  return std::move(*run);
}

RigRun transient(const core::Rig& rig, const Situation& situation, double stop_s) {
  std::optional<RigRun> run;
  with_engine([&](Engine& engine) {
    TransientPlan plan;
    plan.stop_s = stop_s;
    run.emplace(run_transient(engine, rig, situation, plan));
  });
  return std::move(*run);
}

Situation at(Stage stage) {
  Situation situation;
  situation.stage = stage;
  return situation;
}

double mean_v(const core::Rig& rig, const RigRun& run, const std::string& node) {
  return mean_of({run.time_s(), run.node_v(node_of(rig, node))});
}

double stress_of(const core::Rig& rig, const RigRun& run, const std::string& part, StressRule rule,
                 RunKind kind) {
  for (const Stress& stress : stresses_of(rig, run, kind)) {
    if (stress.part == part_of(rig, part) && stress.rule == rule) {
      return stress.value;
    }
  }
  throw core::ContractError("no such stress of " + part);
}

double derived(const core::Rig& rig, const std::string& part, const std::string& name) {
  for (const DerivedFigure& figure : check_rig(rig).derived) {
    if (figure.part == part && figure.name == name) {
      return figure.value;
    }
  }
  throw core::ContractError("no figure " + name);
}

// SCENARIOS
}  // namespace
}  // namespace firstglow::sim
