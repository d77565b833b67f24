#pragma once
/// @file
/// How large can one state of a network left to itself still be?

#include <Eigen/Core>
#include <vector>

namespace firstglow::sim {

/// One row of exp(M t) as a sum of modes, over all starts of a box:
///
///     largest over low <= x <= high of | sum_j exp(rate_j t) shape_j (right x)_j |.
///
/// Rates with an imaginary part stand in conjugate pairs; no rate has a real part above 0.
class StateCourse {
 public:
  StateCourse(const Eigen::VectorXcd& rates, const Eigen::RowVectorXcd& shape,
              const Eigen::MatrixXcd& right, Eigen::VectorXd low, Eigen::VectorXd high);

  /// Largest magnitude at a time >= 0 [s].
  [[nodiscard]] double at(double time_s);
  /// The first of some ascending times from which on it cannot be above the limit: every mode with
  /// its own largest amplitude, none cancelling another, falls without end. times_s.size() when it
  /// may be above at the last.
  [[nodiscard]] std::size_t surely_below(double limit, const std::vector<double>& times_s) const;

 private:
  struct Mode {
    double fall = 0.0, turn = 0.0;  ///< real and imaginary part of the rate [1/s]
    Eigen::VectorXd real, imaginary;
    double most = 0.0;  ///< largest it gives by itself, at the start
  };

  std::vector<Mode> modes_;
  Eigen::VectorXd low_, high_;
  Eigen::VectorXd row_;  ///< kept for its memory
};

}  // namespace firstglow::sim
