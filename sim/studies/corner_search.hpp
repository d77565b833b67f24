#pragma once
/// @file
/// Which tolerances together raise a stress most, and in which of several groups of runs?

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "sim/studies/stack_mirror.hpp"
#include "sim/studies/stress_survey.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {

/// A corner worth a run of its own, in the group (bring-up stage, closing angle) it belongs to.
struct CornerChoice {
  std::size_t group = 0;
  Corner corner;
};

/// From runs with one tolerance at a time, the corners in which a stress is worst.
///
/// Model: the effects of the tolerances add up. Each stress is foreseen so in every group; where it
/// is within 2 % of the highest, all tolerances that raise it are put together and that corner is
/// worth a run.
/// Left out: tolerances that raise a stress only together with another one. On the optimistic side;
/// smooth circuits have little of that, and every single run counts for the answer too.
class CornerSearch {
 public:
  explicit CornerSearch(const StackMirror& mirror) : mirror_(mirror) {}

  /// @param singles  Stresses of the runs of single_corners(parts); an empty list stands for a run
  ///                 that failed (not the first, which is nominal) and counts as no effect.
  void add(std::size_t group, const std::vector<std::string>& parts,
           const std::vector<std::vector<Stress>>& singles);

  /// Corners of more than `least_parts` parts, each once, by group.
  [[nodiscard]] std::vector<CornerChoice> worst(std::size_t least_parts) const;

 private:
  struct Foreseen {
    std::size_t group = 0;
    double value = 0.0;
    Corner corner;
  };
  const StackMirror& mirror_;
  std::map<StressKey, std::vector<Foreseen>> foreseen_;
};

}  // namespace firstglow::sim
