#include "sim/envelope/implicit_step.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kMostNewton = 6;
/// A stage is solved when its point is known to this share of the tolerance.
constexpr double kNewtonShare = 0.25;
/// Slower than this the Jacobian no longer fits.
constexpr double kWorstContraction = 1.5;
constexpr double kFirstContraction = 0.3;
constexpr std::size_t kPastKept = 3;
/// Finite differences, of a coordinate's size: large against the noise of a run.
constexpr double kDifference = 2e-3;
/// A coordinate of which less than this is left after a cycle, in every coordinate's size, follows.
constexpr double kForgotten = 0.02;
constexpr double kNoTolerance = 1e300;

/// The middle root of x^3 - 3 x^2 + 3/2 x - 1/6, by Newton's method.
double middle_root() {
  double x = 0.4;
  for (int i = 0; i < 20; ++i) {
    x -= (((x - 3.0) * x + 1.5) * x - 1.0 / 6.0) / ((3.0 * x - 6.0) * x + 1.5);
  }
  return x;
}

SdirkTableau make_tableau() {
  SdirkTableau t;
  const double g = middle_root();
  t.gamma = g;
  t.node = {g, 0.5 * (1.0 + g), 1.0};
  const double b1 = -(6.0 * g * g - 16.0 * g + 1.0) / 4.0;
  const double b2 = (6.0 * g * g - 20.0 * g + 5.0) / 4.0;
  t.weight = {{{g, 0.0, 0.0}, {0.5 * (1.0 - g), g, 0.0}, {b1, b2, g}}};
  const double second = (1.0 - 2.0 * g) / (1.0 - g);
  t.embedded = {1.0 - second, second, 0.0};
  return t;
}

}  // namespace

const SdirkTableau& sdirk_tableau() {
  static const SdirkTableau tableau = make_tableau();
  return tableau;
}

struct ImplicitStepper::Stage {
  double time_s = 0.0;
  double reach_s = 0.0;  ///< gamma h
  VectorXd base;         ///< point without this stage's own rate
  VectorXd rate;         ///< prediction, then solution
};

ImplicitStepper::ImplicitStepper(CycleDrift drift, double period_s, Eigen::Index circuit_size)
    : drift_(std::move(drift)), period_s_(period_s), circuit_(circuit_size) {}

void ImplicitStepper::set_scales(const VectorXd& tolerance, const VectorXd& size) {
  follower_.resize(static_cast<std::size_t>(size.size()), false);
  tolerance_ = tolerance;
  for (Eigen::Index i = 0; i < size.size(); ++i) {
    if (follows(i)) {
      tolerance_[i] = kNoTolerance;
    }
  }
  size_ = size;
}

void ImplicitStepper::look_around(const DriftPoint& at) {
  if (!jacobian_) {
    make_jacobian(at.value, at.time_s);
  }
}

void ImplicitStepper::remember(const DriftPoint& point) {
  past_.emplace_back(point.time_s, point.rate);
  if (past_.size() > kPastKept) {
    past_.erase(past_.begin());
  }
}

void ImplicitStepper::inherit(const ImplicitStepper& former) {
  if (former.jacobian_ && former.jacobian_->rows() == tolerance_.size() &&
      former.circuit_ == circuit_) {
    jacobian_ = former.jacobian_;
    follower_ = former.follower_;
  }
}

/// Newton's divided differences through the last rates and that of `from`.
VectorXd ImplicitStepper::predicted(double time_s, const DriftPoint& from) const {
  if (past_.empty()) {
    return from.rate;
  }
  const auto& [last_s, last] = past_.back();
  const VectorXd slope = (from.rate - last) / (from.time_s - last_s);
  // straight ahead at most as far as it is known from
  const double ahead_s = std::min(time_s - from.time_s, from.time_s - last_s);
  return from.rate + slope * ahead_s;
}

VectorXd ImplicitStepper::drift_centred(const VectorXd& point, const VectorXd& rate,
                                        double time_s) {
  VectorXd begin = point;
  begin.head(circuit_) -= 0.5 * period_s_ * rate.head(circuit_);
  return drift_(begin, time_s - 0.5 * period_s_);
}

void ImplicitStepper::make_jacobian(const VectorXd& point, double time_s) {
  const VectorXd here = drift_(point, time_s);
  MatrixXd jacobian = MatrixXd::Zero(point.size(), point.size());
  for (Eigen::Index i = 0; i < point.size(); ++i) {
    if (followers_known_ && follows(i)) {
      jacobian(i, i) = -1.0 / period_s_;
      continue;
    }
    VectorXd moved = point;
    const double move = kDifference * size_[i];
    moved[i] += move;
    jacobian.col(i) = (drift_(moved, time_s) - here) / move;
    if (i < circuit_) {
      find_follower(jacobian, i);
    }
  }
  jacobian_ = std::move(jacobian);
  followers_known_ = true;
  fresh_ = true;
  contraction_ = kFirstContraction;
  set_scales(tolerance_, size_);
}

/// Looks at what a cycle leaves of a coordinate: column i of I + T J.
void ImplicitStepper::find_follower(MatrixXd& jacobian, Eigen::Index i) {
  VectorXd left = period_s_ * jacobian.col(i);
  left[i] += 1.0;
  const double most = (left * size_[i]).cwiseQuotient(size_).cwiseAbs().maxCoeff();
  follower_[static_cast<std::size_t>(i)] = most < kForgotten;
  if (follows(i)) {
    jacobian.col(i).setZero();
    jacobian(i, i) = -1.0 / period_s_;
  }
}

/// False when Newton's method does not settle.
bool ImplicitStepper::solve_stage(Stage& stage) {
  VectorXd inward = VectorXd::Constant(stage.rate.size(), stage.reach_s);
  inward.head(circuit_).array() -= 0.5 * period_s_;
  VectorXd last_move, last_drift, last_rate;
  double last_size = 0.0;
  for (int round = 0; round < kMostNewton; ++round) {
    const VectorXd point = stage.base + stage.reach_s * stage.rate;
    const VectorXd drift = drift_centred(point, stage.rate, stage.time_s);
    if (round > 0) {
      // Broyden: the change of the drift along what the cycle's start has moved
      const VectorXd moved = inward.cwiseProduct(stage.rate - last_rate);
      VectorXd scaled = moved.cwiseQuotient(size_.cwiseProduct(size_));
      for (Eigen::Index i = 0; i < scaled.size(); ++i) {
        scaled[i] = follows(i) ? 0.0 : scaled[i];
      }
      const double norm = moved.dot(scaled);
      if (norm > 1e-8) {
        *jacobian_ += (drift - last_drift - *jacobian_ * moved) * scaled.transpose() / norm;
      }
    }
    const MatrixXd matrix =
        MatrixXd::Identity(point.size(), point.size()) - *jacobian_ * inward.asDiagonal();
    if (!matrix.allFinite()) {
      return false;  // a decomposition would pivot on rows that are not there
    }
    const VectorXd move = matrix.partialPivLu().solve(drift - stage.rate);
    if (!move.allFinite()) {
      return false;
    }
    last_rate = stage.rate;
    last_drift = drift;
    stage.rate += move;
    const double size = (stage.reach_s * move).cwiseQuotient(tolerance_).cwiseAbs().maxCoeff();
    if (round > 0 && last_size > 0.0) {
      contraction_ = std::clamp(size / last_size, 0.02, 2.0);
      if (contraction_ > kWorstContraction && size > kNewtonShare) {
        return false;
      }
    }
    if (size * contraction_ / std::max(0.1, 1.0 - contraction_) <= kNewtonShare) {
      return true;
    }
    last_size = size;
  }
  return false;
}

std::optional<StepResult> ImplicitStepper::step(const DriftPoint& from, double step_s) {
  FIRSTGLOW_REQUIRE(tolerance_.size() == from.value.size(), "every coordinate has its tolerance");
  const SdirkTableau& t = sdirk_tableau();
  fresh_ = false;
  if (!jacobian_) {
    make_jacobian(from.value, from.time_s);
  }
  for (;;) {
    std::array<VectorXd, 3> rates;
    bool solved = true;
    VectorXd value;
    for (std::size_t i = 0; i < 3 && solved; ++i) {
      Stage stage;
      stage.time_s = from.time_s + t.node[i] * step_s;
      stage.reach_s = t.gamma * step_s;
      stage.base = from.value;
      for (std::size_t j = 0; j < i; ++j) {
        stage.base += step_s * t.weight[i][j] * rates[j];
      }
      stage.rate = i == 0 ? predicted(stage.time_s, from) : rates[i - 1];
      if (i == 2) {
        stage.rate += (rates[1] - rates[0]) * (t.node[2] - t.node[1]) / (t.node[1] - t.node[0]);
      }
      solved = solve_stage(stage);
      rates[i] = stage.rate;
      value = stage.base + stage.reach_s * stage.rate;
    }
    if (solved) {
      VectorXd error = VectorXd::Zero(value.size());
      for (std::size_t i = 0; i < 3; ++i) {
        error += step_s * (t.weight[2][i] - t.embedded[i]) * rates[i];
      }
      const MatrixXd filter =
          MatrixXd::Identity(value.size(), value.size()) - t.gamma * step_s * *jacobian_;
      StepResult result;
      result.error = filter.partialPivLu().solve(error);
      result.size = result.error.cwiseQuotient(tolerance_).cwiseAbs().maxCoeff();
      result.end = {from.time_s + step_s, std::move(value), std::move(rates[2])};
      return result;
    }
    if (fresh_) {
      return std::nullopt;
    }
    make_jacobian(from.value, from.time_s);
  }
}

VectorXd ImplicitStepper::transported(const VectorXd& bound, double step_s) const {
  if (!jacobian_) {
    return bound;
  }
  const MatrixXd matrix = MatrixXd::Identity(bound.size(), bound.size()) - step_s * *jacobian_;
  return matrix.inverse().cwiseAbs() * bound;
}

}  // namespace firstglow::sim
