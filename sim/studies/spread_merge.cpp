#include <fmt/format.h>

#include <algorithm>

#include "core/error.hpp"
#include "sim/studies/spread.hpp"

namespace firstglow::sim {
namespace {

[[noreturn]] void refuse(const std::string& file, std::string message) {
  throw core::InputError(file, {core::InputFault{{1, 1}, std::move(message)}});
}

bool same_columns(const SpreadTable& a, const SpreadTable& b) {
  return std::equal(a.columns.begin(), a.columns.end(), b.columns.begin(), b.columns.end(),
                    [](const SpreadColumn& x, const SpreadColumn& y) {
                      return x.name == y.name && x.unit == y.unit && x.part == y.part &&
                             x.limit == y.limit;
                    });
}

/// How many draws a message names.
constexpr std::size_t kMostNamed = 5;

void require_all_draws(const SpreadTable& whole, const std::string& file) {
  std::vector<std::string> missing;
  std::size_t next = 0, count = 0;
  for (int d = 0; d < whole.draws; ++d) {
    if (next < whole.made.size() && whole.made[next].index == d) {
      ++next;
      continue;
    }
    if (++count <= kMostNamed) {
      missing.push_back(fmt::format("{}", d));
    }
  }
  if (count > 0) {
    refuse(file, fmt::format("{} of {} draws are in none of these files (number {}{}); add the "
                             "shards that are missing",
                             count, whole.draws, fmt::join(missing, ", "),
                             count > kMostNamed ? ", ..." : ""));
  }
}

}  // namespace

SpreadTable merged_spread(const std::vector<SpreadTable>& shards,
                          const std::vector<std::string>& names) {
  FIRSTGLOW_REQUIRE(!shards.empty() && shards.size() == names.size(), "a shard and its name");
  SpreadTable whole = shards.front();
  for (std::size_t i = 1; i < shards.size(); ++i) {
    const SpreadTable& shard = shards[i];
    if (shard.rig != whole.rig || shard.seed != whole.seed || shard.draws != whole.draws ||
        !same_columns(shard, whole) || shard.nominal != whole.nominal) {
      refuse(names[i], fmt::format("this shard belongs to another spread than {}: record, seed, "
                                   "number of draws and drift must be the same",
                                   names.front()));
    }
    whole.made.insert(whole.made.end(), shard.made.begin(), shard.made.end());
  }
  std::stable_sort(whole.made.begin(), whole.made.end(),
                   [](const SpreadDraw& a, const SpreadDraw& b) { return a.index < b.index; });
  const auto twice = std::adjacent_find(
      whole.made.begin(), whole.made.end(),
      [](const SpreadDraw& a, const SpreadDraw& b) { return a.index == b.index; });
  if (twice != whole.made.end()) {
    refuse(names.back(),
           fmt::format("draw {} is in these files twice; give each shard once", twice->index));
  }
  require_all_draws(whole, names.front());
  return whole;
}

}  // namespace firstglow::sim
