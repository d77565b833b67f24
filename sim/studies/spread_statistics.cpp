#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/deck_export.hpp"
#include "sim/studies/drift.hpp"
#include "sim/studies/spread.hpp"
#include "sim/studies/spread_inputs.hpp"

namespace firstglow::sim {
namespace {

constexpr double kLeastShare = 0.01;
constexpr std::size_t kMostShares = 5;

/// Value that a share of the sorted draws does not exceed (nearest rank).
double rank_of(const std::vector<double>& sorted, double share) {
  const double rank = std::ceil(share * static_cast<double>(sorted.size()));
  const auto index = static_cast<std::size_t>(std::max(rank, 1.0)) - 1;
  return sorted[std::min(index, sorted.size() - 1)];
}

double mean_of_all(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values) {
    sum += value;
  }
  return sum / static_cast<double>(values.size());
}

/// Correlation; 0 when one of the two does not move.
double correlation(const std::vector<double>& x, const std::vector<double>& y) {
  const double mean_x = mean_of_all(x), mean_y = mean_of_all(y);
  double xx = 0.0, yy = 0.0, xy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    yy += (y[i] - mean_y) * (y[i] - mean_y);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  return xx > 0.0 && yy > 0.0 ? xy / std::sqrt(xx * yy) : 0.0;
}

std::vector<SpreadShare> shares_of(const std::vector<std::string>& names,
                                   const std::vector<std::vector<double>>& inputs,
                                   const std::vector<double>& values) {
  std::vector<SpreadShare> shares;
  for (std::size_t k = 0; k < names.size(); ++k) {
    const double r = correlation(inputs[k], values);
    // chance alone gives 1/n; what is not well above that is not told
    if (r * r >= std::max(kLeastShare, 9.0 / static_cast<double>(values.size()))) {
      shares.push_back({names[k], r * r, r > 0.0});
    }
  }
  std::stable_sort(shares.begin(), shares.end(),
                   [](const SpreadShare& a, const SpreadShare& b) { return a.share > b.share; });
  shares.resize(std::min(shares.size(), kMostShares));
  return shares;
}

SpreadReading reading_of(const SpreadColumn& column, double nominal, std::vector<double> values) {
  SpreadReading reading;
  reading.column = column;
  reading.nominal = nominal;
  reading.mean = mean_of_all(values);
  double square = 0.0;
  for (const double value : values) {
    square += (value - reading.mean) * (value - reading.mean);
    reading.over_limit += column.limit && value > *column.limit ? 1 : 0;
  }
  reading.deviation =
      values.size() > 1 ? std::sqrt(square / static_cast<double>(values.size() - 1)) : 0.0;
  std::sort(values.begin(), values.end());
  reading.lowest = values.front();
  reading.p1 = rank_of(values, 0.01);
  reading.p5 = rank_of(values, 0.05);
  reading.median = rank_of(values, 0.50);
  reading.p95 = rank_of(values, 0.95);
  reading.p99 = rank_of(values, 0.99);
  reading.highest = values.back();
  return reading;
}

core::Finding finding_of(const SpreadReading& reading, std::size_t draws) {
  core::Finding finding;
  const bool watts = reading.column.unit == "W";
  finding.rule = watts ? "resistor-watts" : "capacitor-working-volts";
  finding.part = reading.column.part;
  finding.quantity = watts ? "highest dissipation of all draws" : "highest volts of all draws";
  finding.unit = watts ? "W" : "V";
  finding.value = reading.highest;
  finding.limit = reading.column.limit;
  finding.limit_source = "rating in the record";
  finding.situation = reading.column.name;
  finding.note = fmt::format("{} of {} draws over the limit", reading.over_limit, draws);
  finding.verdict = reading.over_limit > 0 ? core::Verdict::unsafe : core::Verdict::safe;
  return finding;
}

std::vector<std::string> assumptions_of(const core::Rig& rig, const SpreadTable& table,
                                        double drift) {
  const core::MainsInlet& mains = rig.mains();
  return {
      fmt::format("{} draws, seed {}. Every part anywhere in its tolerance, every value equally "
                  "likely; real parts cluster about their mark, so the ends come too often here.",
                  table.draws, table.seed),
      fmt::format("Line anywhere from {:.3g} to {:.3g} V rms, dial at full; copper {:.0f} K above "
                  "20 C at most; carbon resistors of 2 W or less, not measured, up to {:.0f} % "
                  "above their tolerance.",
                  mains.low.si(), mains.high.si(), kHottestCopperK, 100.0 * drift),
      "Steady readings only: a cold switch-on goes higher, see margins.",
      "Shares are those of a straight-line fit; together they need not make 100 %.",
  };
}

}  // namespace

std::string rig_fingerprint(const core::Rig& rig, double drift) {
  // the last stage as a netlist with the user's names: what the draws are made from
  std::string text = fmt::format("{:.17g}\n", drift);
  const DriftedRig drifted = with_drift(rig, drift);
  for (const netlists::Stage stage : netlists::stages_of(rig)) {
    for (const double end : {-1.0, 0.0, 1.0}) {
      netlists::Situation situation;
      situation.stage = stage;
      const SpreadInputs inputs(drifted.rig);
      for (const std::string& part : inputs.at_stage(stage)) {
        situation.corner[part] = end;
      }
      text += netlists::export_deck(drifted.rig, situation,
                                    netlists::build_deck(drifted.rig, situation));
    }
  }
  text += fmt::format("{:.17g} {:.17g}", rig.mains().low.si(), rig.mains().high.si());
  for (const core::Part& part : rig.parts) {  // ratings: they stand in no netlist
    if (const auto* resistor = std::get_if<core::Resistor>(&part.data); resistor != nullptr) {
      text += fmt::format(" {:.17g}", resistor->watts ? resistor->watts->si() : 0.0);
    } else if (const auto* can = std::get_if<core::Capacitor>(&part.data); can != nullptr) {
      text += fmt::format(" {:.17g}", can->working_volts ? can->working_volts->si() : 0.0);
    }
  }
  std::uint64_t hash = 0xcbf29ce484222325U;  // FNV-1a, 64 bits [FNV-1A]
  for (const char c : text) {
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
  }
  return fmt::format("{:016x}", hash);
}

SpreadResult spread_result(const core::Rig& rig, SpreadTable table, double drift) {
  FIRSTGLOW_REQUIRE(table.rig == rig_fingerprint(rig, drift), "a spread belongs to its record");
  SpreadResult result;
  const DriftedRig drifted = with_drift(rig, drift);
  const SpreadInputs inputs(drifted.rig);
  std::vector<const SpreadDraw*> good;
  for (const SpreadDraw& draw : table.made) {
    if (draw.readings.empty()) {
      ++result.failed;
    } else {
      good.push_back(&draw);
    }
  }
  std::vector<std::vector<double>> drawn(inputs.names().size());
  for (const SpreadDraw* draw : good) {
    const std::vector<double> values = inputs.values(table.seed, draw->index);
    for (std::size_t k = 0; k < values.size(); ++k) {
      drawn[k].push_back(values[k]);
    }
  }
  for (std::size_t c = 0; c < table.columns.size() && !good.empty(); ++c) {
    std::vector<double> values;
    values.reserve(good.size());
    for (const SpreadDraw* draw : good) {
      values.push_back(draw->readings.at(c));
    }
    SpreadReading reading = reading_of(table.columns[c], table.nominal.at(c), values);
    reading.shares = shares_of(inputs.names(), drawn, values);
    if (reading.column.limit) {
      result.findings.push_back(finding_of(reading, good.size()));
    }
    result.readings.push_back(std::move(reading));
  }
  if (result.failed > 0) {
    core::Finding failed;
    failed.rule = "simulation";
    failed.quantity = "run";
    failed.note = fmt::format("{} of {} draws gave no answer", result.failed, table.made.size());
    result.findings.push_back(failed);
  }
  result.assumptions = assumptions_of(rig, table, drift);
  result.table = std::move(table);
  return result;
}

}  // namespace firstglow::sim
