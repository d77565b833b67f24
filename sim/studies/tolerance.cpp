#include "sim/studies/tolerance.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "netlists/stage_parts.hpp"

namespace firstglow::sim {
namespace {

/// Effects below this part of the figure are numerical noise of a run.
constexpr double kNoise = 1e-4;

/// Widest relative deviation of a part's own value; 0 when it has none.
struct WidestDeviation {
  template <class Data>
  double operator()(const Data& data) const {
    if constexpr (requires { data.value.tolerance; }) {
      return std::max(data.value.tolerance.minus, data.value.tolerance.plus);
    } else {
      return 0.0;
    }
  }
};

}  // namespace

std::vector<std::string> toleranced_parts(const core::Rig& rig, netlists::Stage stage) {
  const std::vector<bool> in = netlists::stage_parts(rig, stage);
  std::vector<std::string> names;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (in[i] && std::visit(WidestDeviation{}, rig.parts[i].data) > 0.0) {
      names.push_back(rig.parts[i].designator);
    }
  }
  return names;
}

std::vector<Corner> single_corners(const std::vector<std::string>& parts) {
  std::vector<Corner> corners{Corner{}};
  for (const std::string& part : parts) {
    corners.push_back(Corner{{part, -1.0}});
    corners.push_back(Corner{{part, 1.0}});
  }
  return corners;
}

Sensitivity::Sensitivity(std::vector<std::string> parts, std::vector<std::vector<double>> figures)
    : parts_(std::move(parts)), figures_(std::move(figures)) {
  FIRSTGLOW_REQUIRE(figures_.size() == 2 * parts_.size() + 1,
                    "a sensitivity needs the nominal run and two runs per part");
  for (const std::vector<double>& row : figures_) {
    FIRSTGLOW_REQUIRE(row.size() == figures_.front().size(), "every run gives the same figures");
  }
}

double Sensitivity::effect(std::size_t part, bool high, std::size_t i) const {
  const double nominal = figures_.front()[i];
  const double change = figures_[1 + 2 * part + (high ? 1 : 0)][i] - nominal;
  const bool seen = std::isfinite(change) && std::abs(change) > kNoise * std::abs(nominal);
  return seen ? change : 0.0;
}

double Sensitivity::fall(std::size_t i) const {
  double sum = 0.0;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    sum += std::min({0.0, effect(p, false, i), effect(p, true, i)});
  }
  return sum;
}

double Sensitivity::rise(std::size_t i) const {
  double sum = 0.0;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    sum += std::max({0.0, effect(p, false, i), effect(p, true, i)});
  }
  return sum;
}

Corner Sensitivity::corner_for(std::size_t i, int direction) const {
  Corner corner;
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    const double low = direction * effect(p, false, i);
    const double high = direction * effect(p, true, i);
    if (std::max(low, high) > 0.0) {
      corner[parts_[p]] = high >= low ? 1.0 : -1.0;
    }
  }
  return corner;
}

std::set<Corner> worst_corners(const Sensitivity& sensitivity) {
  std::set<Corner> corners;
  for (std::size_t i = 0; i < sensitivity.nominal().size(); ++i) {
    Corner corner = sensitivity.corner_for(i, 1);
    if (corner.size() > 1) {  // a single part was run already
      corners.insert(std::move(corner));
    }
  }
  return corners;
}

}  // namespace firstglow::sim
