#pragma once
/// @file
/// Which tolerance corners matter for a set of figures, and how wide do they make them?

#include <functional>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

using Corner = std::map<std::string, double>;  ///< as netlists::Situation::corner

/// Designators of the parts with a tolerance that are connected at a stage.
[[nodiscard]] std::vector<std::string> toleranced_parts(const core::Rig& rig,
                                                        netlists::Stage stage);

/// One-at-a-time corners: nominal first, then each part low and high.
[[nodiscard]] std::vector<Corner> single_corners(const std::vector<std::string>& parts);

/// What the one-at-a-time runs showed. `figures[k]` are the figures of single_corners()[k], all of
/// one length; a figure that could not be had is infinite and counts as "no effect seen".
class Sensitivity {
 public:
  Sensitivity(std::vector<std::string> parts, std::vector<std::vector<double>> figures);

  [[nodiscard]] const std::vector<double>& nominal() const { return figures_.front(); }
  /// Sum of all effects that lower / raise figure i, taken one at a time (<= 0 / >= 0).
  [[nodiscard]] double fall(std::size_t i) const;
  [[nodiscard]] double rise(std::size_t i) const;
  /// The corner that raises (direction +1) or lowers (-1) figure i by every part that moves it.
  [[nodiscard]] Corner corner_for(std::size_t i, int direction) const;

 private:
  [[nodiscard]] double effect(std::size_t part, bool high, std::size_t i) const;

  std::vector<std::string> parts_;
  std::vector<std::vector<double>> figures_;
};

/// The different corners among those that raise any of the figures.
[[nodiscard]] std::set<Corner> worst_corners(const Sensitivity& sensitivity);

}  // namespace firstglow::sim
