#pragma once
/// @file
/// Which state equations does a linear network have, and are its diodes really blocked?

#include <Eigen/Core>
#include <vector>

#include "sim/studies/linear_network.hpp"

namespace firstglow::sim {

/// x' = matrix x and node volts = node_v x; see LinearDischarge for x.
struct DischargeMatrix {
  Eigen::MatrixXd matrix;
  Eigen::MatrixXd node_v;
};

/// Raises each resistor that stands alone in series with one capacitor to 1 us / C.
void raise_series_resistors(LinearNetwork& network);

/// Capacitors as voltage sources, inductors as current sources, one solution per state. Each
/// island that nothing leads to the chassis from gets one node put at 0 V, which draws no current.
/// @throws ContractError when the network has no single solution.
[[nodiscard]] DischargeMatrix discharge_matrix(const LinearNetwork& network);

/// Largest forward volts of all diodes, with every island that has no reference moved to where its
/// diodes conduct least.
class DiodeProof {
 public:
  explicit DiodeProof(const LinearNetwork& network);
  /// @param forward_v  forward volts of each diode, or upper bounds of them, with the islands lying
  ///                   where DischargeMatrix put them
  [[nodiscard]] double forward_v(const std::vector<double>& forward_v) const;

 private:
  const LinearNetwork& network_;
  std::vector<int> island_;
};

}  // namespace firstglow::sim
