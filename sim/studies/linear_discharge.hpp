#pragma once
/// @file
/// When has a network of resistors, capacitors and inductors emptied itself?

#include <complex>
#include <memory>
#include <optional>
#include <vector>

#include "sim/studies/linear_network.hpp"

namespace firstglow::sim {

/// A time beyond which a charge counts as staying for ever [s] (three years).
inline constexpr double kForeverSeconds = 1e8;

/// The network left to itself:
///
///     x' = M x,   x(t) = exp(M t) x(0),
///
/// x: capacitor volts (a to b) in the order of LinearNetwork::capacitors, then inductor amps (a to
/// b). M is found by one solution of the resistive network per state; exp(M t) is taken by
/// eigenvectors in energy scaling (sqrt(C) v, sqrt(L) i), in which the network is a contraction.
/// When the eigenvectors are nearly dependent, by Pade approximation instead.
///
/// A resistor alone in series with one capacitor is raised to at least 1 us / C: it keeps the
/// numbers within 14 digits and moves no time by more than some microseconds, upward.
/// Modes slower than kForeverSeconds are taken as standing still.
///
/// @throws ContractError for capacitors in parallel without any resistance between them.
class LinearDischarge {
 public:
  explicit LinearDischarge(const LinearNetwork& network);

  /// One course from a start state, or the worst of all courses that start in a box. For a box
  /// every "state" below is a bound: the largest magnitude that any start in the box gives at that
  /// time.
  class Course {
   public:
    /// State at a time >= 0 [s].
    [[nodiscard]] std::vector<double> at(double time_s) const;
    /// One state at a time.
    [[nodiscard]] double state_at(std::size_t state, double time_s) const;
    /// Are the states bounds over a box of starts?
    [[nodiscard]] bool is_bound() const;
    /// Last time at which |state| is above a limit > 0; 0 when it never is, empty when it still
    /// is after kForeverSeconds.
    [[nodiscard]] std::optional<double> last_above(std::size_t state, double limit) const;
    /// The same for several limits.
    [[nodiscard]] std::vector<std::optional<double>> last_above(
        std::size_t state, const std::vector<double>& limits) const;
    /// Largest forward volts any diode of the network would see while none conducts; an island
    /// without reference lies where it suits its diodes best. Infinite when two such islands
    /// meet in a diode, since that is not proved here.
    [[nodiscard]] double largest_forward_v() const;
    /// The start (a corner of the box) that gives the largest forward volts.
    [[nodiscard]] std::vector<double> start_of_largest_forward_v() const;
    /// The start in the box that gives the largest magnitude of a state at a time.
    [[nodiscard]] std::vector<double> start_of_largest(std::size_t state, double time_s) const;
    /// Node volts against the chassis at the start (upper end of a box), by network node.
    [[nodiscard]] std::vector<double> start_node_v() const;

   private:
    friend class LinearDischarge;
    struct Data;
    std::shared_ptr<const Data> data_;
  };

  /// @param start  a value per state
  [[nodiscard]] Course from(const std::vector<double>& start) const;
  /// @param low,high  range of each state at the start, low <= high
  [[nodiscard]] Course from_box(const std::vector<double>& low,
                                const std::vector<double>& high) const;
  [[nodiscard]] std::size_t state_count() const;
  /// Eigenvalues of M [1/s]; in pairs where something swings.
  [[nodiscard]] std::vector<std::complex<double>> rates() const;
  /// M, row by row.
  [[nodiscard]] std::vector<std::vector<double>> matrix() const;
  /// exp(M t), row by row.
  [[nodiscard]] std::vector<double> propagator(double time_s) const;
  /// exp(M t) x.
  [[nodiscard]] std::vector<double> moved(const std::vector<double>& state, double time_s) const;
  /// Volts of the network nodes in a state; an island without reference lies anywhere.
  [[nodiscard]] std::vector<double> node_volts(const std::vector<double>& state) const;
  /// True when exp() is taken by Pade approximation.
  [[nodiscard]] bool nearly_defective() const;

 private:
  [[nodiscard]] Course course(const std::vector<double>& low, const std::vector<double>& high,
                              bool box) const;

  struct Model;
  std::shared_ptr<const Model> model_;
};

/// Volts at which a capacitor holds so many joules.
[[nodiscard]] double volts_at_energy(double capacitance_f, double energy_j);

}  // namespace firstglow::sim
