#include "sim/studies/state_course.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace firstglow::sim {
namespace {

constexpr double kRounding = 1e-9;  ///< more than the digits lost in a sum of modes
constexpr double kGoneExponent = -600.0;

/// exp() where it is more than nothing: what underflows takes the library long.
double left_of(double exponent) { return exponent < kGoneExponent ? 0.0 : std::exp(exponent); }

}  // namespace

StateCourse::StateCourse(const Eigen::VectorXcd& rates, const Eigen::RowVectorXcd& shape,
                         const Eigen::MatrixXcd& right, Eigen::VectorXd low, Eigen::VectorXd high)
    : low_(std::move(low)), high_(std::move(high)), row_(low_.size()) {
  const Eigen::VectorXd largest = low_.cwiseAbs().cwiseMax(high_.cwiseAbs());
  for (Eigen::Index j = 0; j < rates.size(); ++j) {
    if (rates(j).imag() < 0.0) {
      continue;  // the other one of its pair stands for both
    }
    const Eigen::RowVectorXcd row = (rates(j).imag() > 0.0 ? 2.0 : 1.0) * shape(j) * right.row(j);
    Mode& mode = modes_.emplace_back();
    mode.fall = rates(j).real();
    mode.turn = rates(j).imag();
    mode.real = row.real().transpose();
    mode.imaginary = row.imag().transpose();
    mode.most = row.cwiseAbs() * largest;
  }
}

double StateCourse::at(double time_s) {
  row_.setZero();
  for (const Mode& mode : modes_) {
    const double left = left_of(mode.fall * time_s);
    if (mode.turn == 0.0) {
      row_ += left * mode.real;
    } else {
      const double angle = mode.turn * time_s;
      row_ += left * std::cos(angle) * mode.real - left * std::sin(angle) * mode.imaginary;
    }
  }
  const auto at_low = row_.array() * low_.array();
  const auto at_high = row_.array() * high_.array();
  return std::max(at_low.max(at_high).sum(), -at_low.min(at_high).sum());
}

std::size_t StateCourse::surely_below(double limit, const std::vector<double>& times_s) const {
  const auto below = std::partition_point(times_s.begin(), times_s.end(), [&](double time_s) {
    double most = 0.0;
    for (const Mode& mode : modes_) {
      most += mode.most * left_of(mode.fall * time_s);
    }
    return (1.0 + kRounding) * most > limit;
  });
  return static_cast<std::size_t>(below - times_s.begin());
}

}  // namespace firstglow::sim
