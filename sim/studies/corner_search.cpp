#include "sim/studies/corner_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

/// Stands for a figure a failed run did not give; Sensitivity takes it as no effect seen.
constexpr double kNoFigure = std::numeric_limits<double>::infinity();

/// The sum of effects is not to be trusted closer than this part of a figure.
constexpr double kNear = 0.02;

Sensitivity sensitivity_of(const std::vector<std::string>& parts,
                           const std::vector<std::vector<Stress>>& singles) {
  std::vector<std::vector<double>> figures;
  figures.reserve(singles.size());
  for (const std::vector<Stress>& stresses : singles) {
    figures.emplace_back(singles.front().size(), kNoFigure);
    for (std::size_t i = 0; i < std::min(stresses.size(), singles.front().size()); ++i) {
      figures.back()[i] = stresses[i].value;
    }
  }
  return {parts, std::move(figures)};
}

}  // namespace

void CornerSearch::add(std::size_t group, const std::vector<std::string>& parts,
                       const std::vector<std::vector<Stress>>& singles) {
  FIRSTGLOW_REQUIRE(!singles.empty(), "a search of corners starts from the nominal run");
  const Sensitivity sensitivity = sensitivity_of(parts, singles);
  for (std::size_t i = 0; i < singles.front().size(); ++i) {
    const Stress& stress = singles.front()[i];
    if (!mirror_.is_copy(stress.part)) {
      foreseen_[{stress.part, stress.section, stress.rule}].push_back(
          {group, stress.value + sensitivity.rise(i), sensitivity.corner_for(i, 1)});
    }
  }
}

std::vector<CornerChoice> CornerSearch::worst(std::size_t least_parts) const {
  std::set<std::pair<std::size_t, Corner>> chosen;
  for (const auto& [key, groups] : foreseen_) {
    const double highest =
        std::max_element(groups.begin(), groups.end(), [](const Foreseen& a, const Foreseen& b) {
          return a.value < b.value;
        })->value;
    for (const Foreseen& each : groups) {
      if (each.corner.size() > least_parts && each.value >= highest - kNear * std::abs(highest)) {
        chosen.emplace(each.group, each.corner);
      }
    }
  }
  std::vector<CornerChoice> choices;
  choices.reserve(chosen.size());
  for (const auto& [group, corner] : chosen) {
    choices.push_back({group, corner});
  }
  return choices;
}

}  // namespace firstglow::sim
