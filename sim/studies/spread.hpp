#pragma once
/// @file
/// How do the readings of many rigs built to the same record scatter, and which parts make them?

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

inline constexpr int kMostDraws = 1000000;

struct SpreadOptions {
  int draws = 1000;        ///< in all, over every shard; 1 to kMostDraws
  std::uint64_t seed = 1;  ///< the same seed gives the same draws, whoever makes them
  int shard = 1;           ///< of `shards`: makes every draw d with d mod shards = shard - 1
  int shards = 1;
  double drift = 0.20;  ///< of carbon resistors above their tolerance; see with_drift()
  Progress progress;
};

/// What is read off each draw. A limit makes a draw above it count.
struct SpreadColumn {
  std::string name;  ///< e.g. "B+, loaded"
  std::string unit;
  std::string part;  ///< of a limit, else empty
  std::optional<double> limit;
};

struct SpreadDraw {
  int index = 0;
  std::vector<double> readings;  ///< as the columns; empty: the run failed
};

/// The draws of one shard, or of all: enough to go on from.
struct SpreadTable {
  std::string rig;  ///< fingerprint of the record and of the drift
  std::uint64_t seed = 1;
  int draws = 0;
  std::vector<SpreadColumn> columns;
  std::vector<double> nominal;
  std::vector<SpreadDraw> made;  ///< by index
};

/// A part's share in the variance of a reading, straight-line fit.
struct SpreadShare {
  std::string input;   ///< designator, "line" or "copper temperature"
  double share = 0.0;  ///< squared correlation, 0 to 1
  bool raises = false;
};

struct SpreadReading {
  SpreadColumn column;
  double nominal = 0.0, mean = 0.0, deviation = 0.0;
  double lowest = 0.0, p1 = 0.0, p5 = 0.0, median = 0.0, p95 = 0.0, p99 = 0.0, highest = 0.0;
  int over_limit = 0;               ///< draws
  std::vector<SpreadShare> shares;  ///< largest first, at most five of at least 1 %
};

struct SpreadResult {
  SpreadTable table;
  int failed = 0;
  std::vector<SpreadReading> readings;  ///< empty as long as draws are missing
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Model: each draw takes every part of the record that has a tolerance anywhere in its band, every
/// value equally likely; the line anywhere between low and high; the copper of all windings 0 to
/// 60 K above 20 C. Two steady runs: nothing drawing but bleeders, and the last stage of the rig.
/// Real parts cluster about their mark: the ends come out too often, on the safe side. Left out:
/// parts that go together (two cans of one lot), loads that follow the line.
///
/// Draw d depends on the seed, on d and on the record alone, so neither the number of workers nor
/// that of shards changes a bit of it.
[[nodiscard]] SpreadTable spread_draws(const core::Rig& rig, const SpreadOptions& options,
                                       WorkerPool& pool);

/// Statistics over a whole table.
/// @throws ContractError when the table is not of this rig and drift.
[[nodiscard]] SpreadResult spread_result(const core::Rig& rig, SpreadTable table, double drift);

/// One table from the shards of one spread. @param names  of the files, for messages
/// @throws InputError when shards do not belong together, are there twice or do not agree.
[[nodiscard]] SpreadTable merged_spread(const std::vector<SpreadTable>& shards,
                                        const std::vector<std::string>& names);

/// Fingerprint of a record as it was understood.
[[nodiscard]] std::string rig_fingerprint(const core::Rig& rig, double drift);

/// The value in [0, 1) of input `input` of draw `draw`.
[[nodiscard]] double spread_uniform(std::uint64_t seed, int draw, int input);

}  // namespace firstglow::sim
