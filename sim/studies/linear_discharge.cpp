#include "sim/studies/linear_discharge.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <unsupported/Eigen/MatrixFunctions>

#include "core/error.hpp"
#include "sim/studies/discharge_matrix.hpp"
#include "sim/studies/state_course.hpp"

namespace firstglow::sim {
namespace {

using Eigen::MatrixXcd;
using Eigen::MatrixXd;
using Eigen::VectorXcd;
using Eigen::VectorXd;

constexpr double kFirstSecond = 1e-5;  ///< first time looked at after 0
constexpr int kTimesPerDecade = 25;
constexpr int kTimesPerSwing = 16;  ///< of a ringing mode, until it has fallen to 1e-6
constexpr int kMostSwingTimes = 4000;
/// Eigenvectors nearer to dependent than this are not used.
constexpr double kLeastRcond = 1e-7;
constexpr int kMostRounds = 200;

std::vector<double> times_by_decades() {
  std::vector<double> times_s{0.0};
  const double decades = std::log10(kForeverSeconds / kFirstSecond);
  const int steps = static_cast<int>(std::lround(decades * kTimesPerDecade));
  for (int i = 0; i <= steps; ++i) {
    times_s.push_back(kFirstSecond * std::pow(10.0, decades * i / steps));
  }
  return times_s;
}

/// Between a time at which a size is above the limit and one at which it is not: the time from
/// which it is not, to 12 digits, never early. False position after Illinois, every fourth time
/// halving.
template <class Size>
double crossing(const Size& size_at, double limit, double above_s, double below_s) {
  double above = size_at(above_s) - limit;
  double below = size_at(below_s) - limit;
  int side = 0;  // which end moved last
  for (int round = 1; round < kMostRounds && below_s - above_s > 1e-12 * below_s; ++round) {
    const double share = round % 4 == 0 || below == 0.0 ? 0.5 : above / (above - below);
    const double middle_s = above_s + share * (below_s - above_s);
    const double middle = size_at(middle_s) - limit;
    if (middle > 0.0) {
      above_s = middle_s;
      above = middle;
      below *= side > 0 ? 0.5 : 1.0;
      side = 1;
    } else {
      below_s = middle_s;
      below = middle;
      above *= side < 0 ? 0.5 : 1.0;
      side = -1;
    }
  }
  return below_s;
}

/// From when on is a size no longer above the limit? 0: it never is; empty: it is at the last time.
/// @param below  the first of the times from which on it surely is not
template <class Size>
std::optional<double> falls_below(const Size& size_at, double limit,
                                  const std::vector<double>& times_s, std::size_t below) {
  while (below > 0 && size_at(times_s[below - 1]) <= limit) {
    --below;
  }
  if (below == times_s.size()) {
    return std::nullopt;
  }
  return below == 0 ? 0.0 : crossing(size_at, limit, times_s[below - 1], times_s[below]);
}

}  // namespace

struct LinearDischarge::Model {
  LinearNetwork network;
  DischargeMatrix states;
  VectorXd scale;         ///< sqrt(C), sqrt(L)
  MatrixXd scaled;        ///< scale * M / scale
  VectorXcd rates;        ///< eigenvalues
  MatrixXcd shapes;       ///< eigenvectors of `scaled`
  MatrixXcd left, right;  ///< exp(M t) = left exp(rates t) right
  bool defective = false;
  bool rings = false;   ///< has a rate that is not real
  VectorXd real_rates;  ///< where nothing rings: the same in real numbers
  MatrixXd real_left, real_right;
  std::vector<double> times_s;  ///< at which courses are looked at, from 0 to kForeverSeconds

  void decompose() {
    const Eigen::Index n = scaled.rows();
    if (network.inductors.empty()) {
      // reciprocal network: symmetric in energy scaling
      const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(0.5 * (scaled + scaled.transpose()));
      rates = solver.eigenvalues().cast<std::complex<double>>();
      shapes = solver.eigenvectors().cast<std::complex<double>>();
    } else {
      const Eigen::EigenSolver<MatrixXd> solver(scaled);
      rates = solver.eigenvalues();
      shapes = solver.eigenvectors();
      const double residual = (scaled * shapes - shapes * rates.asDiagonal()).norm();
      defective = n > 0 && (!(residual <= 1e-9 * scaled.norm()) ||
                            !(Eigen::PartialPivLU<MatrixXcd>(shapes).rcond() > kLeastRcond));
    }
    if (n > 0 && !defective) {
      left = scale.cwiseInverse().asDiagonal() * shapes;
      right = shapes.inverse() * scale.asDiagonal();
    }
    for (Eigen::Index j = 0; j < n; ++j) {
      if (rates(j).real() > -1.0 / kForeverSeconds) {
        rates(j) = {0.0, std::abs(rates(j)) < 1.0 / kForeverSeconds ? 0.0 : rates(j).imag()};
      }
      rings = rings || rates(j).imag() != 0.0;
    }
    if (n > 0 && !rings) {
      real_rates = rates.real();
      real_left = left.real();
      real_right = right.real();
    }
  }

  void choose_times() {
    static const std::vector<double> kByDecades = times_by_decades();
    times_s = kByDecades;
    for (Eigen::Index j = 0; j < rates.size(); ++j) {
      if (rates(j).imag() <= 0.0) {
        continue;
      }
      const double step_s = 2.0 * std::numbers::pi / rates(j).imag() / kTimesPerSwing;
      const double gone_s = std::log(1e6) / std::max(-rates(j).real(), 1e-12);
      for (int i = 1; i <= kMostSwingTimes && i * step_s < gone_s; ++i) {
        times_s.push_back(i * step_s);
      }
    }
    std::sort(times_s.begin(), times_s.end());
  }

  /// exp(M t)
  [[nodiscard]] MatrixXd propagator(double time_s) const {
    if (defective) {
      return scale.cwiseInverse().asDiagonal() * (scaled * time_s).exp() * scale.asDiagonal();
    }
    if (!rings) {
      const VectorXd decay = (real_rates * time_s).array().exp();
      return real_left * (decay.asDiagonal() * real_right);
    }
    const VectorXcd decay = (rates * time_s).array().exp();
    return (left * (decay.asDiagonal() * right)).real();
  }
  /// One row of it.
  [[nodiscard]] Eigen::RowVectorXd propagator_row(Eigen::Index row, double time_s) const {
    if (defective) {
      return propagator(time_s).row(row);
    }
    if (!rings) {
      const VectorXd decay = (real_rates * time_s).array().exp();
      return real_left.row(row).cwiseProduct(decay.transpose()) * real_right;
    }
    const VectorXcd decay = (rates * time_s).array().exp();
    return (left.row(row).cwiseProduct(decay.transpose()) * right).real();
  }
  /// exp(M t) x
  [[nodiscard]] VectorXd moved(const VectorXd& x, double time_s) const {
    if (defective) {
      return propagator(time_s) * x;
    }
    if (!rings) {
      const VectorXd decay = (real_rates * time_s).array().exp();
      return real_left * decay.cwiseProduct(real_right * x);
    }
    const VectorXcd decay = (rates * time_s).array().exp();
    return (left * decay.cwiseProduct(right * x)).real();
  }
};

struct LinearDischarge::Course::Data {
  std::shared_ptr<const Model> model;
  VectorXd low, high;
  bool box = false;

  /// Largest value of row * x over the starts x.
  [[nodiscard]] double largest(const Eigen::RowVectorXd& row) const {
    return row.transpose().cwiseProduct(low).cwiseMax(row.transpose().cwiseProduct(high)).sum();
  }
  /// The start at which it has that value.
  [[nodiscard]] std::vector<double> corner(const Eigen::RowVectorXd& row) const {
    std::vector<double> start;
    for (Eigen::Index j = 0; j < row.size(); ++j) {
      start.push_back(row(j) > 0.0 ? high(j) : low(j));
    }
    return start;
  }
  [[nodiscard]] double state(const Eigen::RowVectorXd& row) const {
    return box ? std::max(largest(row), largest(-row)) : row * low;
  }
  [[nodiscard]] VectorXd at(double time_s) const {
    const MatrixXd propagator = model->propagator(time_s);
    VectorXd states(low.size());
    for (Eigen::Index k = 0; k < states.size(); ++k) {
      states(k) = state(propagator.row(k));
    }
    return states;
  }

  /// Calls visit(forward volts of the worst diode, its row) at every time looked at.
  template <class Visit>
  void for_each_forward(Visit visit) const {
    const DiodeProof proof(model->network);
    for (const double time_s : model->times_s) {
      const MatrixXd node_v = model->states.node_v * model->propagator(time_s);
      std::vector<double> forward_v;
      for (const LinearDiode& diode : model->network.diodes) {
        forward_v.push_back(largest(node_v.row(diode.anode) - node_v.row(diode.cathode)));
      }
      visit(proof.forward_v(forward_v), node_v, forward_v);
    }
  }
};

LinearDischarge::LinearDischarge(const LinearNetwork& network) {
  auto model = std::make_shared<Model>();
  model->network = network;
  raise_series_resistors(model->network);
  model->states = discharge_matrix(model->network);
  const auto n = model->states.matrix.rows();
  model->scale.resize(n);
  Eigen::Index k = 0;
  for (const auto* list : {&network.capacitors, &network.inductors}) {
    for (const LinearBranch& branch : *list) {
      model->scale(k++) = std::sqrt(branch.value);
    }
  }
  model->scaled =
      model->scale.asDiagonal() * model->states.matrix * model->scale.cwiseInverse().asDiagonal();
  model->decompose();
  model->choose_times();
  model_ = std::move(model);
}

LinearDischarge::Course LinearDischarge::from(const std::vector<double>& start) const {
  return course(start, start, false);
}

LinearDischarge::Course LinearDischarge::from_box(const std::vector<double>& low,
                                                  const std::vector<double>& high) const {
  return course(low, high, true);
}

LinearDischarge::Course LinearDischarge::course(const std::vector<double>& low,
                                                const std::vector<double>& high, bool box) const {
  FIRSTGLOW_REQUIRE(low.size() == state_count() && high.size() == state_count(),
                    "a start has one value per state");
  const auto n = static_cast<Eigen::Index>(low.size());
  auto data = std::make_shared<Course::Data>();
  data->model = model_;
  data->low = Eigen::Map<const VectorXd>(low.data(), n);
  data->high = Eigen::Map<const VectorXd>(high.data(), n);
  data->box = box;
  FIRSTGLOW_REQUIRE(data->low.allFinite() && data->high.allFinite() &&
                        (data->low.array() <= data->high.array()).all(),
                    "every start value is finite, low before high");
  Course course;
  course.data_ = std::move(data);
  return course;
}

std::size_t LinearDischarge::state_count() const {
  return static_cast<std::size_t>(model_->scale.size());
}

std::vector<std::complex<double>> LinearDischarge::rates() const {
  return {model_->rates.data(), model_->rates.data() + model_->rates.size()};
}

std::vector<std::vector<double>> LinearDischarge::matrix() const {
  std::vector<std::vector<double>> rows;
  for (Eigen::Index i = 0; i < model_->states.matrix.rows(); ++i) {
    const VectorXd row = model_->states.matrix.row(i);
    rows.emplace_back(row.data(), row.data() + row.size());
  }
  return rows;
}

std::vector<double> LinearDischarge::propagator(double time_s) const {
  const MatrixXd transposed = model_->propagator(time_s).transpose();
  return {transposed.data(), transposed.data() + transposed.size()};
}

std::vector<double> LinearDischarge::moved(const std::vector<double>& state, double time_s) const {
  FIRSTGLOW_REQUIRE(state.size() == state_count(), "a state has one value per capacitor and coil");
  const Eigen::Map<const VectorXd> x(state.data(), static_cast<Eigen::Index>(state.size()));
  std::vector<double> result(state.size());
  Eigen::Map<VectorXd>(result.data(), x.size()) = model_->moved(x, time_s);
  return result;
}

std::vector<double> LinearDischarge::node_volts(const std::vector<double>& state) const {
  FIRSTGLOW_REQUIRE(state.size() == state_count(), "a state has one value per capacitor and coil");
  const VectorXd node_v =
      model_->states.node_v *
      Eigen::Map<const VectorXd>(state.data(), static_cast<Eigen::Index>(state.size()));
  return {node_v.data(), node_v.data() + node_v.size()};
}

bool LinearDischarge::nearly_defective() const { return model_->defective; }

std::vector<double> LinearDischarge::Course::at(double time_s) const {
  const VectorXd state = data_->at(time_s);
  return {state.data(), state.data() + state.size()};
}

bool LinearDischarge::Course::is_bound() const { return data_->box; }

double LinearDischarge::Course::state_at(std::size_t state, double time_s) const {
  return data_->state(data_->model->propagator_row(static_cast<Eigen::Index>(state), time_s));
}

std::optional<double> LinearDischarge::Course::last_above(std::size_t state, double limit) const {
  return last_above(state, std::vector{limit}).front();
}

std::vector<std::optional<double>> LinearDischarge::Course::last_above(
    std::size_t state, const std::vector<double>& limits) const {
  const Model& model = *data_->model;
  std::optional<StateCourse> modes;
  if (!model.defective) {
    modes.emplace(model.rates, model.left.row(static_cast<Eigen::Index>(state)), model.right,
                  data_->low, data_->high);
  }
  const auto size_at = [&](double time_s) {
    return modes ? modes->at(time_s) : std::abs(state_at(state, time_s));
  };
  std::vector<std::optional<double>> times;
  for (const double limit : limits) {
    FIRSTGLOW_REQUIRE(limit > 0.0, "a discharge limit is above 0");
    const std::size_t below =
        modes ? modes->surely_below(limit, model.times_s) : model.times_s.size();
    times.push_back(falls_below(size_at, limit, model.times_s, below));
  }
  return times;
}

double LinearDischarge::Course::largest_forward_v() const {
  double largest_v = -std::numeric_limits<double>::infinity();
  data_->for_each_forward([&](double forward_v, const MatrixXd&, const std::vector<double>&) {
    largest_v = std::max(largest_v, forward_v);
  });
  return largest_v;
}

std::vector<double> LinearDischarge::Course::start_of_largest_forward_v() const {
  std::vector<double> start(data_->high.data(), data_->high.data() + data_->high.size());
  double largest_v = -std::numeric_limits<double>::infinity();
  data_->for_each_forward(
      [&](double forward_v, const MatrixXd& node_v, const std::vector<double>& each_v) {
        if (each_v.empty() || forward_v <= largest_v) {
          return;
        }
        largest_v = forward_v;
        const auto worst = std::max_element(each_v.begin(), each_v.end()) - each_v.begin();
        const LinearDiode& diode = data_->model->network.diodes[static_cast<std::size_t>(worst)];
        start = data_->corner(node_v.row(diode.anode) - node_v.row(diode.cathode));
      });
  return start;
}

std::vector<double> LinearDischarge::Course::start_of_largest(std::size_t state,
                                                              double time_s) const {
  Eigen::RowVectorXd row = data_->model->propagator_row(static_cast<Eigen::Index>(state), time_s);
  if (data_->largest(-row) > data_->largest(row)) {
    row = -row;
  }
  return data_->corner(row);
}

std::vector<double> LinearDischarge::Course::start_node_v() const {
  const VectorXd node_v = data_->model->states.node_v * data_->high;
  return {node_v.data(), node_v.data() + node_v.size()};
}

double volts_at_energy(double capacitance_f, double energy_j) {
  return std::sqrt(2.0 * energy_j / capacitance_f);
}

}  // namespace firstglow::sim
