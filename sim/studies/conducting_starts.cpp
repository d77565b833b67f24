#include "sim/studies/conducting_starts.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace firstglow::sim {
namespace {

/// Up to so many capacitors every corner of the start box is walked.
constexpr std::size_t kMostWideStarts = 5;
constexpr double kWideVolts = 1e-3;

/// Corners of the box of starts of one island; of a large box the two ends and each capacitor
/// turned by itself. `turned[i]`: which of the capacitors stand at the high end.
std::vector<std::set<std::size_t>> turns_of(const std::vector<std::size_t>& wide) {
  std::vector<std::set<std::size_t>> turned;
  if (wide.size() <= kMostWideStarts) {
    for (std::size_t bits = 0; bits < (std::size_t{1} << wide.size()); ++bits) {
      std::set<std::size_t>& high = turned.emplace_back();
      for (std::size_t i = 0; i < wide.size(); ++i) {
        if (((bits >> i) & 1U) != 0) {
          high.insert(wide[i]);
        }
      }
    }
    return turned;
  }
  const std::set<std::size_t> all(wide.begin(), wide.end());
  turned = {{}, all};
  for (const std::size_t k : wide) {
    turned.push_back({k});
    turned.push_back(all);
    turned.back().erase(k);
  }
  return turned;
}

}  // namespace

std::vector<std::vector<double>> conducting_starts(const BleedModel& model) {
  const std::vector<LinearBranch>& capacitors = model.network.capacitors;
  std::vector<double> low(capacitors.size() + model.network.inductors.size(), 0.0);
  std::vector<double> high = low;
  std::map<int, std::vector<std::size_t>> wide;
  for (std::size_t k = 0; k < capacitors.size(); ++k) {
    const auto range = model.joined_start.find(capacitors[k].part);
    if (range != model.joined_start.end()) {
      low[k] = range->second.low_v;
      high[k] = range->second.high_v;
    }
    if (high[k] - low[k] > kWideVolts) {
      wide[model.joined_of(capacitors[k])].push_back(k);
    }
  }
  std::vector<std::vector<double>> starts{low};
  for (const auto& [island, own] : wide) {
    const auto turned = turns_of(own);
    starts.resize(std::max(starts.size(), turned.size()), low);
    for (std::size_t i = 0; i < turned.size(); ++i) {
      for (const std::size_t k : turned[i]) {
        starts[i][k] = high[k];
      }
    }
  }
  return starts;
}

}  // namespace firstglow::sim
