#pragma once
/// @file
/// How does a deck without mains run on, once its rectifiers have stopped?

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::sim {

/// The deck as a linear network with its rectifiers open and its sine sources at 0 V:
///
///     x' = A x + b,   x in the order of netlists::state_elements().
///
/// Found by one solution of the resistive network for each state. Coils with iron count as linear
/// below half their knee. Junction capacitances of rectifiers are left out: some picofarads.
class DeckDischarge {
 public:
  /// Empty when an element is not linear (tubes, current loads), a coil is too far up its curve,
  /// or capacitors lie in parallel without any resistance.
  [[nodiscard]] static std::optional<DeckDischarge> of(const netlists::Deck& deck,
                                                       const Eigen::VectorXd& state);

  /// State `time_s` after `start`, and its time derivative.
  [[nodiscard]] Eigen::VectorXd after(const Eigen::VectorXd& start, double time_s) const;
  [[nodiscard]] Eigen::VectorXd rate(const Eigen::VectorXd& state) const {
    return matrix_ * state + constant_;
  }
  /// |exp(A t)| bound, elementwise: what an error becomes.
  [[nodiscard]] Eigen::VectorXd transported(const Eigen::VectorXd& bound, double time_s) const;
  /// Volts of a node.
  [[nodiscard]] double node_v(netlists::DeckNode node, const Eigen::VectorXd& state) const;
  /// States at `steps` + 1 even times from 0 to `time_s`, the start first.
  [[nodiscard]] std::vector<Eigen::VectorXd> course(const Eigen::VectorXd& start, double time_s,
                                                    int steps) const;
  /// Largest forward volts of any rectifier; they all stay open while it is not above 0.
  [[nodiscard]] double forward_v(const Eigen::VectorXd& state) const;

 private:
  Eigen::MatrixXd matrix_;
  Eigen::VectorXd constant_;
  Eigen::MatrixXd forward_;  ///< a row per rectifier
  Eigen::VectorXd forward_constant_;
  Eigen::MatrixXd node_;  ///< a row per node but the chassis; the last column is the constant part

  /// exp of the matrix with the constant part as one more state, which stands at 1.
  [[nodiscard]] Eigen::MatrixXd moved_over(double time_s) const;
};

}  // namespace firstglow::sim
