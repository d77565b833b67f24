#include "sim/studies/discharge_matrix.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <limits>
#include <map>
#include <set>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;

constexpr double kSeriesSeconds = 1e-6;
/// From a node that only inductors reach to the chassis [S].
constexpr double kLeastSiemens = 1e-13;

std::size_t at(int node) { return static_cast<std::size_t>(node); }

std::vector<int> branches_at_nodes(const LinearNetwork& network,
                                   const std::vector<LinearBranch>& list) {
  std::vector<int> count(at(network.node_count), 0);
  for (const LinearBranch& branch : list) {
    ++count[at(branch.a)];
    ++count[at(branch.b)];
  }
  return count;
}

/// Node volts and capacitor currents as one linear system.
class StateSystem {
 public:
  explicit StateSystem(const LinearNetwork& network)
      : network_(network),
        nodes_(network.node_count),
        size_(nodes_ + static_cast<Index>(network.capacitors.size())),
        matrix_(MatrixXd::Zero(size_, size_)) {
    for (const LinearBranch& resistor : network.resistors) {
      add_conductance(resistor.a, resistor.b, 1.0 / resistor.value);
    }
    Index row = nodes_;
    for (const LinearBranch& capacitor : network.capacitors) {
      matrix_(row, capacitor.a) = matrix_(capacitor.a, row) = 1.0;
      matrix_(row, capacitor.b) = matrix_(capacitor.b, row) = -1.0;
      ++row;
    }
    hold_inductor_nodes();
    hold_references();
  }

  /// Node volts and capacitor currents (a to b) for each unit state, column by column.
  [[nodiscard]] MatrixXd solve() const {
    const auto capacitors = static_cast<Index>(network_.capacitors.size());
    const auto inductors = static_cast<Index>(network_.inductors.size());
    MatrixXd right = MatrixXd::Zero(size_, capacitors + inductors);
    for (Index k = 0; k < capacitors; ++k) {
      right(nodes_ + k, k) = 1.0;
    }
    for (Index k = 0; k < inductors; ++k) {
      const LinearBranch& inductor = network_.inductors[static_cast<std::size_t>(k)];
      right(inductor.a, capacitors + k) -= 1.0;
      right(inductor.b, capacitors + k) += 1.0;
    }
    for (const Index node : held_) {
      right.row(node).setZero();
    }
    const Eigen::FullPivLU<MatrixXd> solver(matrix_);
    FIRSTGLOW_REQUIRE(solver.isInvertible(),
                      "capacitors in parallel have some resistance between them");
    return solver.solve(right);
  }

 private:
  void add_conductance(int a, int b, double siemens) {
    matrix_(a, a) += siemens;
    matrix_(b, b) += siemens;
    matrix_(a, b) -= siemens;
    matrix_(b, a) -= siemens;
  }

  void hold_inductor_nodes() {
    const std::vector<int> resistors = branches_at_nodes(network_, network_.resistors);
    const std::vector<int> capacitors = branches_at_nodes(network_, network_.capacitors);
    for (int node = 1; node < network_.node_count; ++node) {
      if (resistors[at(node)] == 0 && capacitors[at(node)] == 0) {
        add_conductance(node, 0, kLeastSiemens);
      }
    }
  }

  void hold_references() {
    const std::vector<int> island = islands_of(network_, true, true);
    std::set<int> referred;
    for (int node = 0; node < network_.node_count; ++node) {
      if (referred.insert(island[at(node)]).second) {
        matrix_.row(node).setZero();
        matrix_(node, node) = 1.0;
        held_.push_back(node);
      }
    }
  }

  const LinearNetwork& network_;
  Index nodes_, size_;
  MatrixXd matrix_;
  std::vector<Index> held_;
};

}  // namespace

void raise_series_resistors(LinearNetwork& network) {
  const std::vector<int> resistors = branches_at_nodes(network, network.resistors);
  const std::vector<int> capacitors = branches_at_nodes(network, network.capacitors);
  const std::vector<int> inductors = branches_at_nodes(network, network.inductors);
  for (LinearBranch& resistor : network.resistors) {
    for (const int node : {resistor.a, resistor.b}) {
      if (node == 0 || resistors[at(node)] != 1 || capacitors[at(node)] != 1 ||
          inductors[at(node)] != 0) {
        continue;
      }
      const auto capacitor = std::find_if(
          network.capacitors.begin(), network.capacitors.end(),
          [&](const LinearBranch& branch) { return branch.a == node || branch.b == node; });
      resistor.value = std::max(resistor.value, kSeriesSeconds / capacitor->value);
    }
  }
}

DischargeMatrix discharge_matrix(const LinearNetwork& network) {
  const MatrixXd solution = StateSystem(network).solve();
  DischargeMatrix result;
  result.node_v = solution.topRows(network.node_count);
  result.matrix.resize(solution.cols(), solution.cols());
  Index row = 0;
  for (const LinearBranch& capacitor : network.capacitors) {
    result.matrix.row(row) = solution.row(network.node_count + row) / capacitor.value;
    ++row;
  }
  for (const LinearBranch& inductor : network.inductors) {
    result.matrix.row(row++) =
        (result.node_v.row(inductor.a) - result.node_v.row(inductor.b)) / inductor.value;
  }
  return result;
}

DiodeProof::DiodeProof(const LinearNetwork& network)
    : network_(network), island_(islands_of(network, true, true)) {}

double DiodeProof::forward_v(const std::vector<double>& forward_v) const {
  constexpr double kInfinite = std::numeric_limits<double>::infinity();
  struct Room {
    double low_v = -kInfinite, high_v = kInfinite;  ///< where the island may lie
  };
  std::map<int, Room> rooms;
  double largest_v = -kInfinite;
  for (std::size_t i = 0; i < network_.diodes.size(); ++i) {
    const LinearDiode& diode = network_.diodes[i];
    const int anode_island = island_[at(diode.anode)];
    const int cathode_island = island_[at(diode.cathode)];
    const double forward = forward_v[i];
    if (anode_island == cathode_island) {
      largest_v = std::max(largest_v, forward);
    } else if (cathode_island == island_[0]) {
      Room& room = rooms[anode_island];
      room.high_v = std::min(room.high_v, -forward);
    } else if (anode_island == island_[0]) {
      Room& room = rooms[cathode_island];
      room.low_v = std::max(room.low_v, forward);
    } else {
      return kInfinite;
    }
  }
  for (const auto& [island, room] : rooms) {
    largest_v = std::max(largest_v, 0.5 * (room.low_v - room.high_v));
  }
  return largest_v;
}

}  // namespace firstglow::sim
