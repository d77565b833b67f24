#include "sim/envelope/deck_discharge.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <unsupported/Eigen/MatrixFunctions>

namespace firstglow::sim {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using netlists::Deck;
using netlists::DeckNode;

/// As the circuit solver has it from every node to the chassis, so that no node floats [S].
constexpr double kLeastSiemens = 1e-12;
/// A solution is believed when it satisfies its equations to this part.
constexpr double kResidual = 1e-6;
constexpr double kLinearShare = 0.5;       ///< of the knee of an iron core
constexpr double kLinearSinhShare = 0.25;  ///< sinh(u) = u within 1 %

/// Equations of the network: node volts, then currents of branches with given volts.
class Assembly {
 public:
  explicit Assembly(const Deck& deck) : deck_(deck) {
    for (std::size_t i = 0; i < deck.elements.size(); ++i) {
      branch_of_.push_back(has_branch(deck.elements[i].data) ? branches_++ : -1);
      state_of_.push_back(is_state(deck.elements[i].data) ? states_++ : -1);
    }
    const Index size = deck.node_count - 1 + branches_;
    matrix = MatrixXd::Zero(size, size);
    right = MatrixXd::Zero(size, states_ + 1);  // the last column: constant sources
    for (Index n = 0; n < deck.node_count - 1; ++n) {
      matrix(n, n) += kLeastSiemens;
    }
  }

  MatrixXd matrix, right;
  bool linear = true;

  [[nodiscard]] Index states() const { return states_; }
  [[nodiscard]] Index branch_row(std::size_t element) const {
    return deck_.node_count - 1 + branch_of_[element];
  }

  void add(std::size_t i, const VectorXd& state) {
    index_ = i;
    state_ = state_of_[i] >= 0 ? state[state_of_[i]] : 0.0;
    std::visit(*this, deck_.elements[i].data);
  }

  void operator()(const netlists::ResistorElement& e) {
    const double siemens = 1.0 / e.ohm;
    at(e.a, e.a, siemens), at(e.b, e.b, siemens), at(e.a, e.b, -siemens), at(e.b, e.a, -siemens);
  }
  void operator()(const netlists::CapacitorElement& e) { held(e.a, e.b, state_of_[index_], 1.0); }
  void operator()(const netlists::InductorElement& e) { fed(e.a, e.b, 1.0); }
  void operator()(const netlists::SaturatingCoilElement& e) {
    linear = linear && std::abs(state_) <= kLinearShare * e.knee_vs;
    fed(e.a, e.b, 1.0 / e.unsaturated_h);
  }
  void operator()(const netlists::SinhCoilElement& e) {
    linear = linear && std::abs(state_) <= kLinearSinhShare * e.scale_vs;
    fed(e.a, e.b, e.scale_a / e.scale_vs);
  }
  void operator()(const netlists::SineSourceElement& e) { held(e.a, e.b, states_, 0.0); }
  void operator()(const netlists::DcSourceElement& e) { held(e.a, e.b, states_, e.volts); }
  void operator()(const netlists::VoltageFollowerElement& e) {
    held(e.a, e.b, states_, 0.0);
    if (e.control != 0) {
      matrix(branch_row(index_), e.control - 1) -= e.gain;
    }
  }
  void operator()(const netlists::CurrentMirrorElement& e) {
    if (e.into != 0) {
      matrix(e.into - 1, branch_row(static_cast<std::size_t>(e.sense))) -= e.gain;
    }
  }
  void operator()(const netlists::WindingElement& e) {
    const double siemens = 1.0 / e.ohm;
    const std::array<std::pair<DeckNode, double>, 3> ends{
        {{e.a, 1.0}, {e.b, -1.0}, {e.core, -e.ratio}}};
    for (const auto& [row, row_factor] : ends) {
      for (const auto& [column, column_factor] : ends) {
        at(row, column, row_factor * column_factor * siemens);
      }
    }
  }
  void operator()(const netlists::DiodeElement&) {}        // open
  void operator()(const netlists::VacuumDiodeElement&) {}  // open
  template <class Other>
  void operator()(const Other& /*e*/) {
    linear = false;
  }

 private:
  static bool is_state(const netlists::ElementData& data) {
    return std::holds_alternative<netlists::CapacitorElement>(data) ||
           std::holds_alternative<netlists::InductorElement>(data) ||
           std::holds_alternative<netlists::SaturatingCoilElement>(data) ||
           std::holds_alternative<netlists::SinhCoilElement>(data);
  }
  static bool has_branch(const netlists::ElementData& data) {
    return std::holds_alternative<netlists::CapacitorElement>(data) ||
           std::holds_alternative<netlists::SineSourceElement>(data) ||
           std::holds_alternative<netlists::DcSourceElement>(data) ||
           std::holds_alternative<netlists::VoltageFollowerElement>(data);
  }
  void at(DeckNode row, DeckNode column, double siemens) {
    if (row != 0 && column != 0) {
      matrix(row - 1, column - 1) += siemens;
    }
  }
  /// A branch whose volts are given by a column of the right-hand side.
  void held(DeckNode a, DeckNode b, Index column, double volts) {
    const Index row = branch_row(index_);
    for (const auto& [node, sign] : {std::pair{a, 1.0}, std::pair{b, -1.0}}) {
      if (node != 0) {
        matrix(row, node - 1) += sign;
        matrix(node - 1, row) += sign;
      }
    }
    right(row, column) += volts;
  }
  /// A branch whose current is `factor` times its state.
  void fed(DeckNode a, DeckNode b, double factor) {
    for (const auto& [node, sign] : {std::pair{a, -1.0}, std::pair{b, 1.0}}) {
      if (node != 0) {
        right(node - 1, state_of_[index_]) += sign * factor;
      }
    }
  }

  const Deck& deck_;
  std::size_t index_ = 0;
  double state_ = 0.0;
  std::vector<Index> branch_of_, state_of_;
  Index branches_ = 0, states_ = 0;
};

VectorXd volts_row(const MatrixXd& solved, DeckNode a, DeckNode b) {
  VectorXd row = VectorXd::Zero(solved.cols());
  if (a != 0) {
    row += solved.row(a - 1).transpose();
  }
  if (b != 0) {
    row -= solved.row(b - 1).transpose();
  }
  return row;
}

}  // namespace

std::optional<DeckDischarge> DeckDischarge::of(const Deck& deck, const VectorXd& state) {
  Assembly assembly(deck);
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    assembly.add(i, state);
  }
  if (!assembly.linear) {
    return std::nullopt;
  }
  const MatrixXd solved = assembly.matrix.partialPivLu().solve(assembly.right);
  const double wrong = (assembly.matrix * solved - assembly.right).cwiseAbs().maxCoeff();
  if (!solved.allFinite() || wrong > kResidual) {
    return std::nullopt;
  }
  DeckDischarge result;
  const Index n = assembly.states();
  result.matrix_ = MatrixXd::Zero(n, n);
  result.constant_ = VectorXd::Zero(n);
  result.node_ = solved.topRows(deck.node_count - 1);
  std::vector<VectorXd> forward;
  Index next = 0;
  const auto put = [&](const VectorXd& row, double divisor) {
    result.matrix_.row(next) = row.head(n).transpose() / divisor;
    result.constant_[next++] = row[n] / divisor;
  };
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    const netlists::ElementData& data = deck.elements[i].data;
    if (const auto* c = std::get_if<netlists::CapacitorElement>(&data)) {
      put(solved.row(assembly.branch_row(i)).transpose(), c->farad);
    } else if (const auto* l = std::get_if<netlists::InductorElement>(&data)) {
      put(volts_row(solved, l->a, l->b), l->henry);
    } else if (const auto* coil = std::get_if<netlists::SaturatingCoilElement>(&data)) {
      put(volts_row(solved, coil->a, coil->b), 1.0);
    } else if (const auto* swing = std::get_if<netlists::SinhCoilElement>(&data)) {
      put(volts_row(solved, swing->a, swing->b), 1.0);
    } else if (const auto* d = std::get_if<netlists::DiodeElement>(&data)) {
      forward.push_back(volts_row(solved, d->anode, d->cathode));
    } else if (const auto* tube = std::get_if<netlists::VacuumDiodeElement>(&data)) {
      forward.push_back(volts_row(solved, tube->anode, tube->cathode));
    }
  }
  result.forward_ = MatrixXd::Zero(static_cast<Index>(forward.size()), n);
  result.forward_constant_ = VectorXd::Zero(static_cast<Index>(forward.size()));
  for (std::size_t k = 0; k < forward.size(); ++k) {
    result.forward_.row(static_cast<Index>(k)) = forward[k].head(n).transpose();
    result.forward_constant_[static_cast<Index>(k)] = forward[k][n];
  }
  return result;
}

MatrixXd DeckDischarge::moved_over(double time_s) const {
  const Index n = matrix_.rows();
  MatrixXd whole = MatrixXd::Zero(n + 1, n + 1);
  whole.topLeftCorner(n, n) = matrix_ * time_s;
  whole.topRightCorner(n, 1) = constant_ * time_s;
  return whole.exp();
}

VectorXd DeckDischarge::after(const VectorXd& start, double time_s) const {
  return course(start, time_s, 1).back();
}

std::vector<VectorXd> DeckDischarge::course(const VectorXd& start, double time_s, int steps) const {
  const MatrixXd moved = moved_over(time_s / steps);
  VectorXd with_one(start.size() + 1);
  with_one << start, 1.0;
  std::vector<VectorXd> states{start};
  for (int i = 0; i < steps; ++i) {
    with_one = moved * with_one;
    states.emplace_back(with_one.head(start.size()));
  }
  return states;
}

double DeckDischarge::node_v(DeckNode node, const VectorXd& state) const {
  const Index n = state.size();
  return node == 0 ? 0.0 : node_.row(node - 1).head(n).dot(state) + node_(node - 1, n);
}

VectorXd DeckDischarge::transported(const VectorXd& bound, double time_s) const {
  const MatrixXd moved = (matrix_ * time_s).exp();
  return moved.cwiseAbs() * bound;
}

double DeckDischarge::forward_v(const VectorXd& state) const {
  if (forward_.rows() == 0) {
    return -std::numeric_limits<double>::infinity();
  }
  return (forward_ * state + forward_constant_).maxCoeff();
}

}  // namespace firstglow::sim
