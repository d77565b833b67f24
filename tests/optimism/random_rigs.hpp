#pragma once
/// @file
/// Rigs of random values with the topologies of the scenarios, to look for a prediction that is too
/// short.

#include <random>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/bleed_moments.hpp"

namespace firstglow::test {

struct RandomRig {
  std::string scenario;
  core::Rig rig;  ///< drift included
  std::vector<sim::ChargeMoment> moments;
  std::string open_part;  ///< empty: intact
};

/// Draws rigs: every resistor, capacitor and choke within a factor of three of the scenario's
/// value, tolerances of 0 to 50 % either way, drift of 0 to 50 %, one to four moments of charge,
/// one path open in two of three rigs.
class RandomRigs {
 public:
  explicit RandomRigs(unsigned seed);
  [[nodiscard]] RandomRig next();

 private:
  double between(double low, double high);
  void set_values(core::Rig& rig);
  std::vector<sim::ChargeMoment> draw_moments(const core::Rig& rig);

  std::mt19937 random_;
  std::vector<core::Rig> scenarios_;
};

/// A rig inside the tolerances: corners and points between them.
[[nodiscard]] std::map<std::string, double> draw_corner(const core::Rig& rig, std::mt19937& random);

}  // namespace firstglow::test
