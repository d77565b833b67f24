#pragma once
/// @file
/// How does a stiff drift carry a point over a large step, and how wrong can that be?

#include <Eigen/Core>
#include <array>
#include <functional>
#include <optional>
#include <vector>

namespace firstglow::sim {

/// The drift of a point at a time, seen over one cycle of length T that begins there.
using CycleDrift = std::function<Eigen::VectorXd(const Eigen::VectorXd& point, double time_s)>;

/// Alexander's singly diagonally implicit method: three stages, third order, L-stable, stiffly
/// accurate; embedded a second-order one without the last stage. Source: R. Alexander, SIAM J.
/// Numer. Anal. 14 (1977) 1006 [ALEXANDER-1977]; gamma is the middle root of
/// x^3 - 3 x^2 + 3/2 x - 1/6 = 0. The order conditions are checked in a test.
struct SdirkTableau {
  double gamma = 0.0;
  std::array<double, 3> node{};                   ///< c
  std::array<std::array<double, 3>, 3> weight{};  ///< a; the last row is b
  std::array<double, 3> embedded{};
};
[[nodiscard]] const SdirkTableau& sdirk_tableau();

/// A point and its time derivative, seen over cycles.
struct DriftPoint {
  double time_s = 0.0;
  Eigen::VectorXd value, rate;
};

struct StepResult {
  DriftPoint end;
  Eigen::VectorXd error;  ///< embedded estimate, filtered by (I - gamma h J)^-1
  double size = 0.0;      ///< largest error over tolerance
};

/// Takes steps; keeps its Jacobian, and the last rates to predict the next ones from.
///
/// The drift of a cycle belongs to the middle of the cycle. A stage therefore looks for the rate k
/// that the cycle centred on its point has,
///
///     k = G(Y - (T/2) k, t - T/2),     Y = y + h (a_i1 k_1 + ... + gamma k),
///
/// which takes a mode of rate lambda for (2/T) tanh(lambda T/2): right to (lambda T)^2 / 12 where
/// the drift alone is wrong by lambda T / 2. Slow states stand still within a cycle and are
/// not shifted. Solved by Newton's method with a kept Jacobian by finite differences and Broyden's
/// updates.
class ImplicitStepper {
 public:
  /// @param circuit_size  coordinates that move within a cycle; those behind them are slow
  ImplicitStepper(CycleDrift drift, double period_s, Eigen::Index circuit_size);

  /// Coordinates whose start no longer shows at the end of the cycle (snubbers, winding currents
  /// while the rectifiers block): they follow the others and are not judged. Known once a Jacobian
  /// has been made; until then all count.
  [[nodiscard]] bool follows(Eigen::Index i) const {
    return follower_[static_cast<std::size_t>(i)];
  }
  /// Makes a Jacobian at a point, if none is there.
  void look_around(const DriftPoint& at);
  /// Error allowed in each coordinate, > 0, and the size of each, for finite differences.
  void set_scales(const Eigen::VectorXd& tolerance, const Eigen::VectorXd& size);
  [[nodiscard]] const Eigen::VectorXd& tolerance() const { return tolerance_; }
  [[nodiscard]] const Eigen::VectorXd& size() const { return size_; }
  /// Empty when Newton's method did not settle with a Jacobian made for this step.
  [[nodiscard]] std::optional<StepResult> step(const DriftPoint& from, double step_s);
  /// Rates before an event say nothing about those after it.
  void forget_rates() { past_.clear(); }
  void remember(const DriftPoint& point);
  /// Takes over what is known of the former circuit, when it has the same coordinates.
  void inherit(const ImplicitStepper& former);
  [[nodiscard]] bool has_jacobian() const { return jacobian_.has_value(); }
  /// Transports error bounds over a step: |(I - h J)^-1| e, elementwise.
  [[nodiscard]] Eigen::VectorXd transported(const Eigen::VectorXd& bound, double step_s) const;

 private:
  struct Stage;
  [[nodiscard]] bool solve_stage(Stage& stage);
  [[nodiscard]] std::optional<std::array<DriftPoint, 3>> solve_stages(const DriftPoint& from,
                                                                      double step_s);
  [[nodiscard]] StepResult finished(const DriftPoint& from, double step_s,
                                    const std::array<DriftPoint, 3>& stages) const;
  void make_jacobian(const Eigen::VectorXd& point, double time_s);
  [[nodiscard]] double left_of(const Eigen::VectorXd& column, Eigen::Index i) const;
  void find_follower(const Eigen::VectorXd& point, const Eigen::VectorXd& here, double time_s,
                     Eigen::MatrixXd& jacobian, Eigen::Index i);
  [[nodiscard]] Eigen::VectorXd predicted(double time_s, const DriftPoint& from) const;
  [[nodiscard]] Eigen::VectorXd drift_centred(const Eigen::VectorXd& point,
                                              const Eigen::VectorXd& rate, double time_s);

  CycleDrift drift_;
  double period_s_;
  Eigen::Index circuit_;
  Eigen::VectorXd tolerance_, size_;
  std::vector<bool> follower_;
  bool followers_known_ = false;
  std::optional<Eigen::MatrixXd> jacobian_;
  bool fresh_ = false;            ///< the Jacobian was made during this step
  double contraction_ = 0.3;      ///< of Newton's steps, as last seen
  std::vector<DriftPoint> past_;  ///< where the last steps began, oldest first
};

}  // namespace firstglow::sim
