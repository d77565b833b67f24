#include "sim/studies/lines.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <mutex>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/heated_parts.hpp"
#include "sim/studies/rampup_sheet.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

constexpr double kGasBand = 0.05;       // [866A-DS]
constexpr double kHeaterBand = 0.10;    // [HEATER-10], from memory
constexpr double kMostRipple = 0.5;     // of the mean: above, a node is no supply to read
constexpr double kWorthBucking = 0.02;  // of the line
/// Windings sold for filaments [V rms]: common practice, no source.
constexpr std::array kFilamentWindings{2.5, 5.0, 6.3, 7.5, 10.0, 12.6, 18.0, 24.0, 28.0};

void fill_supplies(const core::Rig& rig, const ReadingSheet& sheet, bool loaded, LineRow& row) {
  for (std::size_t i = 0; i < sheet.nodes.size(); ++i) {
    const bool settled = sheet.node_vpp[i] < kMostRipple * std::abs(sheet.node_dc_v[i]);
    if (!settled || !is_dc_node(rig, sheet.nodes[i])) {
      continue;
    }
    const std::string& name = rig.node_name(sheet.nodes[i]);
    auto found = std::find_if(row.supplies.begin(), row.supplies.end(),
                              [&name](const SupplyAtLine& each) { return each.node == name; });
    if (found == row.supplies.end()) {
      row.supplies.push_back({name, std::nullopt, std::nullopt});
      found = row.supplies.end() - 1;
    }
    (loaded ? found->loaded_v : found->unloaded_v) = sheet.node_dc_v[i];
  }
}

LineRow run_line(Engine& engine, const core::Rig& rig, double line_vrms) {
  LineRow row;
  row.line_vrms = line_vrms;
  Situation situation;
  situation.line = core::RmsVolts(line_vrms);
  const std::vector<Stage> stages = netlists::stages_of(rig);
  const auto first = std::find_if(stages.begin(), stages.end(),
                                  [](Stage stage) { return stage >= Stage::filter; });
  try {
    SteadyRunner runner(engine, rig);
    if (first != stages.end()) {
      situation.stage = *first;
      fill_supplies(rig, sheet_of(rig, runner.run(situation)), false, row);
    }
    situation.stage = stages.back();
    const SteadyRun loaded = runner.run(situation);
    const ReadingSheet sheet = sheet_of(rig, loaded);
    fill_supplies(rig, sheet, true, row);
    row.mains_a = sheet.mains_a;
    for (const HeatedPart& heated : heated_parts(rig)) {
      if (loaded.cycle.has_node(heated.a) && loaded.cycle.has_node(heated.b)) {
        row.heaters.push_back(
            {heated.designator,
             rms_of({loaded.cycle.time_s(), loaded.cycle.volts_between(heated.a, heated.b)}),
             heated.rated_vrms, heated.gas_filled});
      }
    }
  } catch (const core::SimulationError& error) {
    row.failure = error.what();
  }
  return row;
}

/// Highest heater volts over rated; 0 when there is no heater.
double highest_share(const LineRow& row) {
  double share = 0.0;
  for (const HeaterAtLine& heater : row.heaters) {
    share = std::max(share, heater.vrms / heater.rated_vrms);
  }
  return share;
}

/// Line at which the highest share is 1, on the straight line through the two rows around it.
std::optional<double> right_line(const std::vector<LineRow>& rows) {
  std::vector<const LineRow*> good;
  for (const LineRow& row : rows) {
    if (row.failure.empty() && highest_share(row) > 0.0) {
      good.push_back(&row);
    }
  }
  if (good.size() < 2) {
    return std::nullopt;
  }
  std::size_t k = 1;
  while (k + 1 < good.size() && highest_share(*good[k]) < 1.0) {
    ++k;
  }
  const double low = highest_share(*good[k - 1]);
  const double high = highest_share(*good[k]);
  if (high <= low) {
    return std::nullopt;
  }
  const double slope = (good[k]->line_vrms - good[k - 1]->line_vrms) / (high - low);
  return good[k - 1]->line_vrms + (1.0 - low) * slope;
}

std::vector<Bucking> bucking_for(const std::vector<LineRow>& rows, double right_vrms) {
  std::vector<Bucking> all;
  for (const LineRow& row : rows) {
    if (!row.failure.empty() || row.line_vrms < right_vrms * (1.0 + kWorthBucking)) {
      continue;
    }
    Bucking one;
    one.line_vrms = row.line_vrms;
    one.wanted_v = row.line_vrms - right_vrms;
    // The winding is in proportion to the line; primaries of filament transformers are taken at
    // the line they are bought for, so its volts are its marked volts.
    one.winding_v = *std::min_element(
        kFilamentWindings.begin(), kFilamentWindings.end(), [&one](double a, double b) {
          return std::abs(a - one.wanted_v) < std::abs(b - one.wanted_v);
        });
    one.left_vrms = row.line_vrms - one.winding_v;
    one.amps = row.mains_a;
    one.va = one.amps * one.winding_v;
    all.push_back(one);
  }
  return all;
}

void add_findings(const core::Rig& rig, LinesResult& result) {
  for (const LineRow& row : result.rows) {
    if (!row.failure.empty()) {
      core::Finding failed;
      failed.rule = "simulation";
      failed.quantity = "run";
      failed.note = fmt::format("line {:.4g} V: {}", row.line_vrms, row.failure);
      result.findings.push_back(failed);
    }
    const bool expected = row.line_vrms >= rig.mains().low.si() - 1e-9 &&
                          row.line_vrms <= rig.mains().high.si() + 1e-9;
    if (!expected) {
      continue;
    }
    for (const HeaterAtLine& heater : row.heaters) {
      core::Finding finding;
      finding.rule = "heater-volts";
      finding.part = heater.part;
      finding.quantity = "heater volts away from rated";
      finding.unit = "V";
      finding.value = std::abs(heater.vrms - heater.rated_vrms);
      finding.limit = (heater.gas_filled ? kGasBand : kHeaterBand) * heater.rated_vrms;
      finding.situation =
          fmt::format("line {:.4g} V rms, heater at {:.3g} V", row.line_vrms, heater.vrms);
      finding.limit_source = heater.gas_filled ? "5 % of rated filament volts [866A-DS]"
                                               : "10 % of rated heater volts [HEATER-10]";
      finding.verdict =
          *finding.value <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
      result.findings.push_back(finding);
    }
  }
}

}  // namespace

std::vector<double> usual_lines_vrms(const core::Rig& rig) {
  const core::MainsInlet& mains = rig.mains();
  const bool high_voltage = mains.nominal.si() > 170.0;
  std::vector<double> all = high_voltage ? std::vector<double>{220.0, 230.0, 240.0}
                                         : std::vector<double>{110.0, 115.0, 117.0, 120.0, 125.0};
  for (const core::RmsVolts volts : {mains.low, mains.nominal, mains.high}) {
    all.push_back(volts.si());
  }
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end(),
                        [](double a, double b) { return std::abs(a - b) < 0.25; }),
            all.end());
  return all;
}

LinesResult lines(const core::Rig& rig, const LinesOptions& options, WorkerPool& pool) {
  LinesResult result;
  std::vector<double> volts = options.line_vrms.empty() ? usual_lines_vrms(rig) : options.line_vrms;
  std::sort(volts.begin(), volts.end());
  result.rows.resize(volts.size());
  std::mutex mutex;
  int done = 0;
  pool.for_each(volts.size(), [&](Engine& engine, std::size_t i) {
    result.rows[i] = run_line(engine, rig, volts[i]);
    const std::scoped_lock lock(mutex);
    if (options.progress) {
      options.progress(++done, static_cast<int>(volts.size()));
    }
  });
  result.right_line_vrms = right_line(result.rows);
  if (result.right_line_vrms) {
    result.bucking = bucking_for(result.rows, *result.right_line_vrms);
  }
  add_findings(rig, result);
  result.assumptions = {
      "Steady, nominal parts, variac left out or at 1; last stage the rig has for the loaded "
      "column.",
      "Right line: where the heater that is highest in per cent stands at its rated volts.",
      "Bucking: the filament transformer's primary across the line, its secondary in series and in "
      "opposition; its own copper drop is left out.",
  };
  return result;
}

}  // namespace firstglow::sim
