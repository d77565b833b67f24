#include "sim/studies/spread.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>

#include "core/error.hpp"
#include "core/rig_reader.hpp"
#include "sim/report/spread_file.hpp"

namespace firstglow::sim {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

const core::Rig& demo() {
  static const core::Rig kRig =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml");
  return kRig;
}

SpreadOptions few(int draws) {
  SpreadOptions options;
  options.draws = draws;
  options.seed = 7;
  return options;
}

/// Mean 1/2 and variance 1/12 of numbers that are evenly spread in [0, 1), within four standard
/// errors of 20 000 draws; no two inputs go together.
TEST(SpreadUniform, IsEvenAndUnlike) {
  double sum = 0.0, square = 0.0, together = 0.0;
  std::set<double> seen;
  const int draws = 20000;
  for (int d = 0; d < draws; ++d) {
    const double u = spread_uniform(1, d, 0);
    ASSERT_GE(u, 0.0);
    ASSERT_LT(u, 1.0);
    sum += u;
    square += (u - 0.5) * (u - 0.5);
    together += (u - 0.5) * (spread_uniform(1, d, 1) - 0.5);
    seen.insert(u);
  }
  EXPECT_NEAR(sum / draws, 0.5, 4.0 * std::sqrt(1.0 / 12.0 / draws));
  EXPECT_NEAR(square / draws, 1.0 / 12.0, 4.0 * std::sqrt(1.0 / 180.0 / draws));
  EXPECT_NEAR(together / draws, 0.0, 4.0 / 12.0 / std::sqrt(draws));
  EXPECT_EQ(seen.size(), static_cast<std::size_t>(draws));
  EXPECT_NE(spread_uniform(1, 0, 0), spread_uniform(2, 0, 0));
}

/// Any number of workers and any split into shards gives the same bits, through files too.
TEST(Spread, ShardsAndWorkersChangeNoBit) {
  WorkerPool one({1, {}}), two({2, {}});
  const SpreadTable whole = spread_draws(demo(), few(20), one);
  EXPECT_EQ(spread_file_text(whole), spread_file_text(spread_draws(demo(), few(20), two)));
  std::vector<SpreadTable> shards;
  std::vector<std::string> names;
  for (int shard = 3; shard >= 1; --shard) {
    SpreadOptions options = few(20);
    options.shard = shard;
    options.shards = 3;
    const std::filesystem::path file =
        std::filesystem::path(testing::TempDir()) / ("spread" + std::to_string(shard) + ".csv");
    std::ofstream(file, std::ios::binary) << spread_file_text(spread_draws(demo(), options, two));
    names.push_back(file.string());
    shards.push_back(read_spread_file(names.back()));
  }
  EXPECT_EQ(spread_file_text(merged_spread(shards, names)), spread_file_text(whole));

  // a shard that is missing or given twice is refused
  const auto merged = [&](const std::vector<std::size_t>& which) {
    std::vector<SpreadTable> some;
    std::vector<std::string> of;
    for (const std::size_t i : which) {
      some.push_back(shards[i]);
      of.push_back(names[i]);
    }
    return merged_spread(some, of);
  };
  EXPECT_THAT(
      [&] {
        static_cast<void>(merged({0, 1}));
      },
      ThrowsMessage<core::InputError>(HasSubstr("are in none of these files")));
  EXPECT_THAT(
      [&] {
        static_cast<void>(merged({0, 1, 2, 1}));
      },
      ThrowsMessage<core::InputError>(HasSubstr("twice")));
  SpreadTable other = shards[1];
  other.seed = 8;
  EXPECT_THAT(
      [&] {
        static_cast<void>(merged_spread({shards[0], other}, {names[0], names[1]}));
      },
      ThrowsMessage<core::InputError>(HasSubstr("another spread")));
}

/// The line is the largest single cause of what the rails of the demo read; B+ loaded scatters by
/// less than its parts' tolerances put end to end, and lies about the nominal value.
TEST(Spread, NamesTheLineAsTheCauseOfTheRails) {
  WorkerPool pool({2, {}});
  const SpreadResult result = spread_result(demo(), spread_draws(demo(), few(60), pool), 0.20);
  EXPECT_EQ(result.failed, 0);
  const auto reading =
      std::find_if(result.readings.begin(), result.readings.end(),
                   [](const SpreadReading& one) { return one.column.name == "B+, light"; });
  ASSERT_NE(reading, result.readings.end());
  ASSERT_FALSE(reading->shares.empty());
  EXPECT_EQ(reading->shares.front().input, "line");
  EXPECT_TRUE(reading->shares.front().raises);
  EXPECT_NEAR(reading->mean, reading->nominal, 0.05 * reading->nominal);
  EXPECT_LT(reading->lowest, reading->p5);
  EXPECT_LT(reading->p5, reading->median);
  EXPECT_LT(reading->median, reading->p95);
  EXPECT_LE(reading->p95, reading->highest);
  // the line moves from 110 to 127 V, evenly: one standard deviation is 17 V / sqrt(12) of 120 V
  EXPECT_NEAR(reading->deviation / reading->nominal, 17.0 / std::sqrt(12.0) / 120.0, 0.015);
}

/// A spread of one record is refused for another.
TEST(Spread, BelongsToItsRecord) {
  EXPECT_NE(rig_fingerprint(demo(), 0.20), rig_fingerprint(demo(), 0.10));
  const core::Rig other =
      core::read_rig_file(FIRSTGLOW_SOURCE_DIR "/scenarios/tolland-75/rig.yaml");
  EXPECT_NE(rig_fingerprint(demo(), 0.20), rig_fingerprint(other, 0.20));
}

/// All faults of a file in one pass, each with its place.
TEST(SpreadFile, NamesEveryFault) {
  const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / "bad_spread.csv";
  std::ofstream(file, std::ios::binary)
      << "firstglow spread 1,abc,x,10,\nreading,B+\nunit,V DC\npart,\nlimit,\nnominal,600\n"
         "0,601\n99,600\n1,six\n2,1,2\n";
  try {
    static_cast<void>(read_spread_file(file.string()));
    FAIL() << "accepted";
  } catch (const core::InputError& error) {
    EXPECT_EQ(error.faults().size(), 4U) << error.what();
    EXPECT_THAT(error.what(), HasSubstr(":1:24: 'x' is no seed"));
    EXPECT_THAT(error.what(), HasSubstr("'99' is no draw from 0 to 9"));
    EXPECT_THAT(error.what(), HasSubstr("'six' is no reading"));
    EXPECT_THAT(error.what(), HasSubstr("a draw has 2 readings, expected 1"));
  }
}

}  // namespace
}  // namespace firstglow::sim
