#include "sim/studies/spread.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <mutex>
#include <set>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/drift.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/spread_inputs.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

constexpr double kDcOverAc = 0.2;  ///< a node with less DC than this share of its AC is no rail
constexpr std::size_t kBatch = 16;

/// One stage of a draw: the same readings of every draw, in order.
class StageReader {
 public:
  StageReader(const core::Rig& rig, Stage stage, std::string words)
      : rig_(rig), stage_(stage), words_(std::move(words)) {}

  /// The nominal run decides which readings there are.
  std::vector<double> nominal(Engine& engine, std::vector<SpreadColumn>& columns) {
    SteadyRunner runner(engine, rig_);
    Situation situation;
    situation.stage = stage_;
    const SteadyRun run = runner.run(situation);
    const ReadingSheet sheet = sheet_of(rig_, run);
    for (std::size_t n = 0; n < sheet.nodes.size(); ++n) {
      if (is_dc_node(rig_, sheet.nodes[n]) &&
          std::abs(sheet.node_dc_v[n]) > kDcOverAc * sheet.node_ac_vrms[n]) {
        nodes_.push_back(n);
        columns.push_back({rig_.node_name(sheet.nodes[n]) + ", " + words_, "V DC", {}, {}});
      }
    }
    columns.push_back({"mains, " + words_, "A rms", {}, {}});
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      add_rated(static_cast<int>(i), run, sheet, columns);
    }
    return readings_of(run);
  }

  [[nodiscard]] std::vector<double> readings_of(const SteadyRun& run) const {
    const ReadingSheet sheet = sheet_of(rig_, run);
    std::vector<double> readings;
    for (const std::size_t n : nodes_) {
      readings.push_back(sheet.node_dc_v.at(n));
    }
    readings.push_back(sheet.mains_a);
    for (const std::size_t p : resistors_) {
      readings.push_back(sheet.part_w.at(p));
    }
    for (const int part : capacitors_) {
      const auto& can = std::get<core::Capacitor>(rig_.parts[static_cast<std::size_t>(part)].data);
      readings.push_back(peak_magnitude_of(run.cycle.volts_between(can.plus, can.minus)));
    }
    return readings;
  }

  [[nodiscard]] Stage stage() const { return stage_; }

 private:
  void add_rated(int part, const SteadyRun& run, const ReadingSheet& sheet,
                 std::vector<SpreadColumn>& columns) {
    const core::Part& entry = rig_.parts[static_cast<std::size_t>(part)];
    const auto* resistor = std::get_if<core::Resistor>(&entry.data);
    const auto place = std::find(sheet.parts.begin(), sheet.parts.end(), part);
    if (resistor != nullptr && resistor->watts && place != sheet.parts.end()) {
      resistors_.push_back(static_cast<std::size_t>(place - sheet.parts.begin()));
      resistor_columns_.push_back(
          {entry.designator + ", " + words_, "W", entry.designator, resistor->watts->si()});
    }
    const auto* can = std::get_if<core::Capacitor>(&entry.data);
    if (can != nullptr && can->working_volts && run.cycle.has_node(can->plus) &&
        run.cycle.has_node(can->minus)) {
      capacitors_.push_back(part);
      can_columns_.push_back(
          {entry.designator + ", " + words_, "V peak", entry.designator, can->working_volts->si()});
    }
    if (part + 1 == static_cast<int>(rig_.parts.size())) {
      columns.insert(columns.end(), resistor_columns_.begin(), resistor_columns_.end());
      columns.insert(columns.end(), can_columns_.begin(), can_columns_.end());
    }
  }

  const core::Rig& rig_;
  Stage stage_;
  std::string words_;
  std::vector<std::size_t> nodes_, resistors_;
  std::vector<int> capacitors_;
  std::vector<SpreadColumn> resistor_columns_, can_columns_;
};

/// The stages that are read: light, and loaded when that is another.
std::vector<StageReader> readers_of(const core::Rig& rig) {
  const std::vector<Stage> stages = netlists::stages_of(rig);
  const auto light = std::find_if(stages.rbegin(), stages.rend(),
                                  [](Stage stage) { return stage <= Stage::tubes_out; });
  std::vector<StageReader> readers;
  readers.emplace_back(rig, *light, "light");
  if (*light != stages.back()) {
    readers.emplace_back(rig, stages.back(), "loaded");
  }
  return readers;
}

Situation situation_of(const SpreadInputs& inputs, std::uint64_t seed, int draw, Stage stage) {
  Situation situation = inputs.situation(seed, draw);
  situation.stage = stage;
  const std::set<std::string> here = inputs.at_stage(stage);
  std::erase_if(situation.corner, [&](const auto& one) { return !here.contains(one.first); });
  return situation;
}

}  // namespace

SpreadTable spread_draws(const core::Rig& rig, const SpreadOptions& options, WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(options.draws >= 1 && options.draws <= kMostDraws, "1 to a million draws");
  FIRSTGLOW_REQUIRE(options.shard >= 1 && options.shard <= options.shards, "a shard is one of all");
  const DriftedRig drifted = with_drift(rig, options.drift);
  SpreadTable table;
  table.rig = rig_fingerprint(rig, options.drift);
  table.seed = options.seed;
  table.draws = options.draws;
  std::vector<StageReader> readers = readers_of(drifted.rig);
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    for (StageReader& reader : readers) {
      const std::vector<double> nominal = reader.nominal(engine, table.columns);
      table.nominal.insert(table.nominal.end(), nominal.begin(), nominal.end());
    }
  });
  for (int d = options.shard - 1; d < options.draws; d += options.shards) {
    table.made.push_back({d, {}});
  }
  const SpreadInputs inputs(drifted.rig);
  const std::size_t batches = (table.made.size() + kBatch - 1) / kBatch;
  std::mutex mutex;
  int done = 0;
  pool.for_each(batches, [&](Engine& engine, std::size_t batch) {
    // every batch begins with the nominal run, and every draw from there: no draw knows another
    std::vector<std::unique_ptr<SteadyRunner>> from;
    for (const StageReader& reader : readers) {
      from.push_back(std::make_unique<SteadyRunner>(engine, drifted.rig));
      Situation nominal;
      nominal.stage = reader.stage();
      static_cast<void>(from.back()->run(nominal));
    }
    const std::size_t end = std::min(table.made.size(), (batch + 1) * kBatch);
    for (std::size_t i = batch * kBatch; i < end; ++i) {
      SpreadDraw& draw = table.made[i];
      try {
        for (std::size_t r = 0; r < readers.size(); ++r) {
          SteadyRunner runner(engine, drifted.rig);
          runner.start_from(*from[r]);
          const std::vector<double> readings = readers[r].readings_of(
              runner.run(situation_of(inputs, options.seed, draw.index, readers[r].stage())));
          draw.readings.insert(draw.readings.end(), readings.begin(), readings.end());
        }
      } catch (const core::SimulationError&) {
        draw.readings.clear();  // counted as failed: no verdict
      }
      const std::scoped_lock lock(mutex);
      if (options.progress) {
        options.progress(++done, static_cast<int>(table.made.size()));
      }
    }
  });
  return table;
}

}  // namespace firstglow::sim
