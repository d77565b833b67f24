#pragma once
/// @file
/// Which parts of a long stack are copies of each other, so that one answer serves for all?
///
/// Eight like cans in series with like equalisers may change places without the rest of the rig
/// noticing. A tolerance of the third can does to the third what one of the first does to the
/// first, and to all others what one of the first does to the second. So a survey runs the
/// tolerances of one section and reads the others off: exact, and eight times cheaper.

#include <map>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/studies/part_stress.hpp"

namespace firstglow::sim {

class StackMirror {
 public:
  /// Sections that count: at least three in a row between neighbouring joints, each of the same
  /// capacitors and resistors (values, tolerances, ratings), one resistor at least, and nothing
  /// else at the joints between them.
  explicit StackMirror(const core::Rig& rig);

  /// Which part changes places with which (both ways); parts not in it stay.
  using Swap = std::map<int, int>;

  /// One for every section but the first of its stack: the change of places with that first one.
  [[nodiscard]] const std::vector<Swap>& swaps() const { return swaps_; }
  /// The swap that brings this part to the first section; nullptr when it is in none but that.
  [[nodiscard]] const Swap* swap_of(int part) const;
  [[nodiscard]] bool is_copy(int part) const { return swap_of(part) != nullptr; }

  /// Stresses of the swapped rig, in the order of the rig's parts.
  [[nodiscard]] static std::vector<Stress> swapped(std::vector<Stress> stresses, const Swap& swap);
  /// The same for the tolerance corner of a situation.
  [[nodiscard]] netlists::Situation swapped(netlists::Situation situation, const Swap& swap) const;

 private:
  [[nodiscard]] int index_of(const std::string& designator) const;

  const core::Rig& rig_;
  std::vector<Swap> swaps_;
  std::map<int, std::size_t> swap_of_part_;
};

}  // namespace firstglow::sim
