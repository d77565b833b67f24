#pragma once
/// @file
/// A second way to the discharge of a network, for tests: nothing of sim/studies but the list of
/// branches, and no Eigen.

#include <vector>

#include "sim/studies/linear_network.hpp"

namespace firstglow::test {

/// x' = M x by Gaussian elimination in long double on node volts and branch currents, exp(M t) by a
/// Taylor series of M t / 2^k and k squarings. States as in sim::LinearDischarge.
class IndependentCourse {
 public:
  explicit IndependentCourse(const sim::LinearNetwork& network);

  using Matrix = std::vector<std::vector<long double>>;
  [[nodiscard]] const Matrix& matrix() const { return matrix_; }
  /// exp(M t). @param time_s  >= 0
  [[nodiscard]] Matrix propagator(double time_s) const;
  [[nodiscard]] static Matrix product(const Matrix& a, const Matrix& b);
  [[nodiscard]] static std::vector<double> times(const Matrix& a, const std::vector<double>& x);

 private:
  Matrix matrix_;
};

}  // namespace firstglow::test
