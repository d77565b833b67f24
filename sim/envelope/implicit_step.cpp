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
constexpr double kBestContraction = 0.1;  ///< believed without having been seen in this stage
constexpr std::size_t kPastKept = 3;
/// Finite differences, of a coordinate's size: large against the noise of a run.
constexpr double kDifference = 2e-3;
/// A coordinate of which less than this is left after a cycle, in every coordinate's size, follows.
constexpr double kForgotten = 0.02;
constexpr double kDoubtful = 0.5;
constexpr double kLargeDifference = 0.05;
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

/// Slope at the end of the parabola through start, first stage and end of a step.
VectorXd chord_rate(const VectorXd& start, const VectorXd& first, const VectorXd& end,
                    double step_s) {
  const double node = sdirk_tableau().node[0];
  const VectorXd early = (first - start) / (node * step_s);
  const VectorXd late = (end - first) / ((1.0 - node) * step_s);
  return late + (1.0 - node) * (late - early);
}

}  // namespace

const SdirkTableau& sdirk_tableau() {
  static const SdirkTableau kTableau = make_tableau();
  return kTableau;
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
  past_.push_back(point);
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
  const DriftPoint& last = past_.back();
  const VectorXd slope = (from.rate - last.rate) / (from.time_s - last.time_s);
  // straight ahead at most as far as it is known from
  const double ahead_s = std::min(time_s - from.time_s, from.time_s - last.time_s);
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
      find_follower(point, here, time_s, jacobian, i);
    }
  }
  jacobian_ = std::move(jacobian);
  followers_known_ = true;
  fresh_ = true;
  contraction_ = kFirstContraction;
  set_scales(tolerance_, size_);
}

/// What a cycle leaves of a coordinate, in every coordinate's size: column i of I + T J.
double ImplicitStepper::left_of(const VectorXd& column, Eigen::Index i) const {
  VectorXd left = period_s_ * column;
  left[i] += 1.0;
  return (left * size_[i]).cwiseQuotient(size_).cwiseAbs().maxCoeff();
}

/// A snubber's end of the cycle is known less well than its small move: where little is left the
/// question is asked again with a large one.
void ImplicitStepper::find_follower(const VectorXd& point, const VectorXd& here, double time_s,
                                    MatrixXd& jacobian, Eigen::Index i) {
  double most = left_of(jacobian.col(i), i);
  if (most >= kForgotten && most < kDoubtful) {
    VectorXd moved = point;
    moved[i] += kLargeDifference * size_[i];
    most = left_of((drift_(moved, time_s) - here) / (kLargeDifference * size_[i]), i);
  }
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
    // a first move says nothing of how fast the next ones shrink
    const double shrink = round == 0 ? std::max(contraction_, kBestContraction) : contraction_;
    if (size * shrink / std::max(0.1, 1.0 - shrink) <= kNewtonShare) {
      return true;
    }
    last_size = size;
  }
  return false;
}

/// Points and rates of the three stages; empty when Newton's method does not settle in one.
auto ImplicitStepper::solve_stages(const DriftPoint& from, double step_s)
    -> std::optional<std::array<DriftPoint, 3>> {
  const SdirkTableau& t = sdirk_tableau();
  std::array<DriftPoint, 3> done;
  for (std::size_t i = 0; i < 3; ++i) {
    Stage stage;
    stage.time_s = from.time_s + t.node[i] * step_s;
    stage.reach_s = t.gamma * step_s;
    stage.base = from.value;
    for (std::size_t j = 0; j < i; ++j) {
      stage.base += step_s * t.weight[i][j] * done[j].rate;
    }
    stage.rate = i == 0 ? predicted(stage.time_s, from) : done[i - 1].rate;
    if (i == 2) {
      stage.rate +=
          (done[1].rate - done[0].rate) * (t.node[2] - t.node[1]) / (t.node[1] - t.node[0]);
    }
    if (!solve_stage(stage)) {
      return std::nullopt;
    }
    done[i] = {stage.time_s, stage.base + stage.reach_s * stage.rate, stage.rate};
  }
  return done;
}

StepResult ImplicitStepper::finished(const DriftPoint& from, double step_s,
                                     const std::array<DriftPoint, 3>& stages) const {
  const SdirkTableau& t = sdirk_tableau();
  const VectorXd& value = stages[2].value;
  VectorXd error = VectorXd::Zero(value.size());
  for (std::size_t i = 0; i < 3; ++i) {
    error += step_s * (t.weight[2][i] - t.embedded[i]) * stages[i].rate;
  }
  const MatrixXd filter =
      MatrixXd::Identity(value.size(), value.size()) - t.gamma * step_s * *jacobian_;
  const Eigen::PartialPivLU<MatrixXd> filtered(filter);
  StepResult result;
  result.error = filtered.solve(error);
  result.size = result.error.cwiseQuotient(tolerance_).cwiseAbs().maxCoeff();
  // what is stiff in the last rate makes up for the errors of the earlier ones, three times as
  // large: there the points themselves tell the slope better
  const VectorXd chord = chord_rate(from.value, stages[0].value, value, step_s);
  result.end = {from.time_s + step_s, value, chord + filtered.solve(stages[2].rate - chord)};
  return result;
}

std::optional<StepResult> ImplicitStepper::step(const DriftPoint& from, double step_s) {
  FIRSTGLOW_REQUIRE(tolerance_.size() == from.value.size(), "every coordinate has its tolerance");
  fresh_ = false;
  if (!jacobian_) {
    make_jacobian(from.value, from.time_s);
  }
  for (;;) {
    if (const auto stages = solve_stages(from, step_s)) {
      return finished(from, step_s, *stages);
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
