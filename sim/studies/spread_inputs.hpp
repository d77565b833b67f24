#pragma once
/// @file
/// Which values does draw number d take?

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

/// Copper above 20 C, at most: class A windings at full load stand about 60 K above the room
/// (common practice, no source).
inline constexpr double kHottestCopperK = 60.0;

/// The uncertain things of one rig, in a fixed order: parts, then line, then copper.
class SpreadInputs {
 public:
  explicit SpreadInputs(const core::Rig& rig);

  [[nodiscard]] const std::vector<std::string>& names() const { return names_; }
  /// Value of each input in a draw, -1 to +1 of its band.
  [[nodiscard]] std::vector<double> values(std::uint64_t seed, int draw) const;
  /// The same as a situation; its stage is the caller's.
  [[nodiscard]] netlists::Situation situation(std::uint64_t seed, int draw) const;
  /// Parts with a tolerance that are connected at a stage.
  [[nodiscard]] std::set<std::string> at_stage(netlists::Stage stage) const;

 private:
  const core::Rig& rig_;
  std::vector<std::string> names_;
  std::size_t parts_ = 0;
};

}  // namespace firstglow::sim
