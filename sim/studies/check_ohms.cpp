#include "sim/studies/check_ohms.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "netlists/deck_builder.hpp"
#include "netlists/node_groups.hpp"
#include "sim/studies/linear_network.hpp"

namespace firstglow::sim {
namespace {

/// Above this a reading counts as open [ohm]; from every node so little leads to the chassis that
/// the network always has a solution [S].
constexpr double kOpenOhm = 1e8;
constexpr double kLeastSiemens = 1e-13;
/// A rectifier that conducts: small against every reading that matters [ohm].
constexpr double kClosedDiodeOhm = 1e-3;
/// Volts at the test lead, and forward volts at which a rectifier is taken to conduct.
constexpr double kTestVolts = 1.0;
constexpr double kForwardVolts = 1e-6;
constexpr int kMostRounds = 50;

struct Reading {
  std::optional<double> ohm;
  bool through_rectifier = false;
};

/// The network with capacitors open and inductors shorted, seen from one node at a time.
class OhmNetwork {
 public:
  OhmNetwork(const core::Rig& rig, const std::map<std::string, double>& corner) {
    netlists::Situation situation;
    situation.stage = netlists::Stage::tubes_out;
    situation.mains_on = false;
    situation.corner = corner;
    for (const core::Part& part : rig.parts) {
      if (core::rectifier_heater(part) != nullptr) {
        situation.cold_rectifiers.insert(part.designator);
      }
    }
    const netlists::BuiltDeck built = netlists::build_deck(rig, situation);
    const LinearNetwork network = linear_network(built);
    netlists::NodeGroups groups(static_cast<std::size_t>(network.node_count));
    for (const LinearBranch& choke : network.inductors) {
      groups.join(static_cast<std::size_t>(choke.a), static_cast<std::size_t>(choke.b));
    }
    const auto merged = [&](int node) {
      const std::size_t root = groups.root(static_cast<std::size_t>(node));
      return root == groups.root(0) ? 0 : static_cast<int>(root);
    };
    count_ = network.node_count;
    conductance_ = Eigen::MatrixXd::Identity(count_, count_) * kLeastSiemens;
    for (const LinearBranch& resistor : network.resistors) {
      add(conductance_, merged(resistor.a), merged(resistor.b), 1.0 / resistor.value);
    }
    for (const LinearDiode& diode : network.diodes) {
      diodes_.push_back(LinearDiode{merged(diode.anode), merged(diode.cathode), diode.part});
    }
    for (const auto& deck_node : built.node_of) {
      const int node = deck_node ? network.node_of[static_cast<std::size_t>(*deck_node)] : -1;
      node_of_.push_back(node < 0 ? -1 : merged(node));
    }
  }

  /// `polarity` +1: red lead on the node, -1: black lead.
  [[nodiscard]] Reading read(core::NodeIndex rig_node, double polarity) const {
    const int node = node_of_[static_cast<std::size_t>(rig_node)];
    if (node < 0) {
      return {};
    }
    if (node == 0) {
      return {0.0, false};
    }
    std::vector<bool> closed(diodes_.size(), false);
    for (int round = 0; round < kMostRounds; ++round) {
      const Eigen::VectorXd volts = solve(node, polarity * kTestVolts, closed);
      if (!change_one_round(volts, closed, round >= kMostRounds / 4)) {
        return reading(node, volts, closed);
      }
    }
    return {};
  }

 private:
  static void add(Eigen::MatrixXd& matrix, int a, int b, double siemens) {
    matrix(a, a) += siemens;
    matrix(b, b) += siemens;
    matrix(a, b) -= siemens;
    matrix(b, a) -= siemens;
  }

  [[nodiscard]] Eigen::MatrixXd matrix_with(const std::vector<bool>& closed) const {
    Eigen::MatrixXd matrix = conductance_;
    for (std::size_t i = 0; i < closed.size(); ++i) {
      if (closed[i] && diodes_[i].anode != diodes_[i].cathode) {
        add(matrix, diodes_[i].anode, diodes_[i].cathode, 1.0 / kClosedDiodeOhm);
      }
    }
    return matrix;
  }

  /// Node volts with `volts` held at one node and 0 V at the chassis.
  [[nodiscard]] Eigen::VectorXd solve(int node, double volts,
                                      const std::vector<bool>& closed) const {
    Eigen::MatrixXd matrix = matrix_with(closed);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(count_);
    for (const int held : {0, node}) {
      matrix.row(held).setZero();
      matrix(held, held) = 1.0;
    }
    right(node) = volts;
    return matrix.partialPivLu().solve(right);
  }

  /// Opens and closes diodes; `only_one` ends a dance of two that answer each other.
  [[nodiscard]] bool change_one_round(const Eigen::VectorXd& volts, std::vector<bool>& closed,
                                      bool only_one) const {
    bool changed = false;
    for (std::size_t i = 0; i < closed.size(); ++i) {
      const double forward_v = volts(diodes_[i].anode) - volts(diodes_[i].cathode);
      const bool wrong = closed[i] ? forward_v < -1e-12 : forward_v > kForwardVolts;
      if (wrong && !(only_one && changed)) {
        closed[i] = !closed[i];
        changed = true;
      }
    }
    return changed;
  }

  [[nodiscard]] Reading reading(int node, const Eigen::VectorXd& volts,
                                const std::vector<bool>& closed) const {
    const double amps = std::abs((matrix_with(closed) * volts)(node));
    if (amps * kOpenOhm < kTestVolts) {
      return {};
    }
    Reading result{kTestVolts / amps, false};
    for (std::size_t i = 0; i < closed.size(); ++i) {
      const double diode_a =
          (volts(diodes_[i].anode) - volts(diodes_[i].cathode)) / kClosedDiodeOhm;
      result.through_rectifier = result.through_rectifier || (closed[i] && diode_a > 1e-3 * amps);
    }
    return result;
  }

  int count_ = 0;
  Eigen::MatrixXd conductance_;
  std::vector<LinearDiode> diodes_;
  std::vector<int> node_of_;
};

/// Every part with ohms at one end of its tolerance.
std::map<std::string, double> all_ohms_at(const core::Rig& rig, double corner) {
  std::map<std::string, double> all;
  for (const core::Part& part : rig.parts) {
    if (std::holds_alternative<core::Resistor>(part.data) ||
        std::holds_alternative<core::ResistiveLoad>(part.data)) {
      all[part.designator] = corner;
    }
  }
  return all;
}

}  // namespace

std::vector<OhmsReading> ohms_readings(const core::Rig& rig) {
  const OhmNetwork nominal(rig, {});
  const OhmNetwork low(rig, all_ohms_at(rig, -1.0));
  const OhmNetwork high(rig, all_ohms_at(rig, 1.0));
  std::vector<OhmsReading> readings;
  for (core::NodeIndex node = 1; node < static_cast<core::NodeIndex>(rig.nodes.size()); ++node) {
    const Reading red = nominal.read(node, 1.0);
    const Reading black = nominal.read(node, -1.0);
    OhmsReading reading;
    reading.node = rig.node_name(node);
    reading.red_ohm = red.ohm;
    reading.black_ohm = black.ohm;
    reading.red_through_rectifier = red.through_rectifier;
    reading.black_through_rectifier = black.through_rectifier;
    if (red.ohm) {
      reading.red_low_ohm = low.read(node, 1.0).ohm;
      reading.red_high_ohm = high.read(node, 1.0).ohm;
    }
    readings.push_back(std::move(reading));
  }
  return readings;
}

}  // namespace firstglow::sim
