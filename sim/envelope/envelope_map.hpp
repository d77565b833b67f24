#pragma once
/// @file
/// Where is the circuit, and every slow state with it, one mains cycle later?

#include <Eigen/Core>
#include <optional>
#include <vector>

#include "sim/envelope/envelope.hpp"

namespace firstglow::sim {

/// What one coordinate of a point is measured in.
enum class PointUnit { volts, amps, volt_seconds, slow };

/// One stretch of a programme as a map over one cycle. A point holds the circuit's states (as
/// netlists::state_elements()), then those of the slow laws.
class EnvelopeMap {
 public:
  EnvelopeMap(Engine& engine, const EnvelopeStretch& stretch, double period_s, int steps_per_cycle);

  [[nodiscard]] Eigen::Index size() const { return static_cast<Eigen::Index>(units_.size()); }
  [[nodiscard]] Eigen::Index circuit_size() const { return circuit_; }
  [[nodiscard]] const std::vector<PointUnit>& units() const { return units_; }
  [[nodiscard]] const std::vector<SlowState>& slow_states() const { return slow_; }

  /// Drift over the cycle that begins at `time_s` of the stretch with `point` [unit/s]: of the
  /// circuit's states what the cycle changed, divided by the period; of the slow ones their rate.
  [[nodiscard]] Eigen::VectorXd drift(const Eigen::VectorXd& point, double time_s);
  /// Mean drift over `length_s` instead of a cycle: for a circuit without mains. While every
  /// rectifier stays blocked and the rest is linear, by matrix exponential; else by the engine.
  [[nodiscard]] Eigen::VectorXd drift_over(const Eigen::VectorXd& point, double time_s,
                                           double length_s);
  /// The deck of that cycle; past the end of a ramp the line stands still.
  [[nodiscard]] netlists::Deck deck(const Eigen::VectorXd& point, double time_s) const;
  /// Largest current of any rectifier in the forward direction in the last cycle run [A].
  [[nodiscard]] double forward_a() const { return forward_a_; }
  [[nodiscard]] int runs() const { return runs_; }

 private:
  [[nodiscard]] netlists::Deck cycle_deck(const Eigen::VectorXd& point, double time_s) const;
  [[nodiscard]] netlists::Deck deck_between(const Eigen::VectorXd& point, double begin,
                                            double end) const;
  [[nodiscard]] Eigen::VectorXd run(const Eigen::VectorXd& point, double time_s,
                                    const RunSpec& spec);
  /// What the engine would show of a deck without mains, when it is linear with every rectifier
  /// blocked at every sample.
  [[nodiscard]] std::optional<Waveforms> blocked_run(const netlists::Deck& deck,
                                                     const Eigen::VectorXd& point,
                                                     double length_s) const;
  [[nodiscard]] Eigen::VectorXd drift_of(const Eigen::VectorXd& point, const Waveforms& waves,
                                         double length_s) const;
  [[nodiscard]] Eigen::VectorXd slow_rates(const Eigen::VectorXd& point,
                                           const Waveforms& waves) const;

  Engine& engine_;
  const EnvelopeStretch& stretch_;
  double period_s_;
  RunSpec spec_;
  std::vector<PointUnit> units_;
  std::vector<SlowState> slow_;
  Eigen::Index circuit_ = 0;
  double forward_a_ = 0.0;
  int runs_ = 0;
};

}  // namespace firstglow::sim
