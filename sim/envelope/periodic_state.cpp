#include "sim/envelope/periodic_state.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "core/error.hpp"
#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr int kFirstCycles = 8;    ///< plain cycles before the first Jacobian
constexpr int kCoarseSteps = 120;  ///< per cycle of these
constexpr int kMostNewtonSteps = 60;
/// A mode far slower than a cycle (a can of 470 uF with an equaliser of 100 kohm: 2800 cycles)
/// moves so little in one that the noise of a run hides it. Then the map is taken over this many
/// cycles.
constexpr int kManyCycles = 24;
/// Steps of the slow search, and the last step it may end with, in units of the usual accuracy.
constexpr int kMostSlowSteps = 30;
constexpr double kLooseSteps = 10.0;
constexpr int kMostJacobians = 8;
/// A fresh Jacobian is due when the residual fell by less than this for some rounds, or grew.
constexpr double kSlowFall = 0.5;
constexpr int kSlowRounds = 3;
constexpr double kGrowth = 4.0;
/// A state of which less than this is left after a cycle, in the size of every other, follows the
/// others (snubbers, winding currents while the rectifiers block): the noise of its own value is
/// not judged.
constexpr double kForgotten = 0.02;
/// Farther from settled than this share of the largest, a first Jacobian would see capacitors that
/// are still being charged, and take them for ones that forget.
constexpr double kFarAway = 0.05;
constexpr double kLogOhmStep = 0.02;  ///< finite difference in ln(ohm)
constexpr double kLargestLogOhmMove = 0.7;

netlists::ResistorElement& resistor_at(netlists::Deck& deck, netlists::ElementIndex index) {
  auto* resistor = std::get_if<netlists::ResistorElement>(
      &deck.elements.at(static_cast<std::size_t>(index)).data);
  FIRSTGLOW_REQUIRE(resistor != nullptr, "a warm resistance is a deck resistor");
  return *resistor;
}

/// Which entries of z are volts, amps, volt-seconds, ln(ohm): their scales differ.
enum class Coordinate { volts, amps, flux, log_ohm };

std::vector<Coordinate> coordinates_of(const PeriodicProblem& problem) {
  std::vector<Coordinate> all;
  for (const netlists::ElementIndex index : netlists::state_elements(problem.deck)) {
    const auto& data = problem.deck.elements[static_cast<std::size_t>(index)].data;
    FIRSTGLOW_REQUIRE(!std::holds_alternative<netlists::ThermalResistorElement>(data) &&
                          !std::holds_alternative<netlists::NtcElement>(data),
                      "a periodic problem holds its warm resistances outside the deck");
    if (std::holds_alternative<netlists::CapacitorElement>(data)) {
      all.push_back(Coordinate::volts);
    } else if (std::holds_alternative<netlists::InductorElement>(data)) {
      all.push_back(Coordinate::amps);
    } else {
      all.push_back(Coordinate::flux);
    }
  }
  all.insert(all.end(), problem.warm.size(), Coordinate::log_ohm);
  return all;
}

/// The map z -> cycle(z), each call one engine run.
class CycleMap {
 public:
  CycleMap(Engine& engine, const PeriodicProblem& problem, int stride, int& runs)
      : engine_(engine), problem_(problem), stride_(stride), runs_(runs) {
    for (const WarmResistor& warm : problem.warm) {
      const auto& resistor = resistor_at(const_cast<netlists::Deck&>(problem.deck), warm.element);
      spec_.nodes.push_back(resistor.a);
      spec_.nodes.push_back(resistor.b);
    }
    warm_nodes_ = spec_.nodes;
  }

  VectorXd operator()(const VectorXd& z) {
    spec_.nodes.insert(spec_.nodes.end(), problem_.read_nodes.begin(), problem_.read_nodes.end());
    spec_.currents = problem_.read_currents;
    VectorXd next = probe(z);
    spec_.nodes = warm_nodes_;
    spec_.currents.clear();
    return next;
  }
  /// The same of a point that nobody reads.
  VectorXd probe(const VectorXd& z) { return after(z, stride_, problem_.steps_per_cycle); }

  /// A first approach, in coarse steps where that goes: what it comes to is only a start.
  VectorXd approach(const VectorXd& z) {
    if (kCoarseSteps < problem_.steps_per_cycle) {
      try {
        return after(z, kFirstCycles, kCoarseSteps);
      } catch (const core::SimulationError&) {
        // stiff rectifiers on hard sources need the usual steps
      }
    }
    return after(z, kFirstCycles, problem_.steps_per_cycle);
  }

  VectorXd after(const VectorXd& z, int cycles, int steps_per_cycle) {
    const PeriodicPoint point = unpack(z);
    spec_.max_step_s = problem_.period_s / steps_per_cycle;
    spec_.stop_s = problem_.period_s * cycles;
    spec_.save_from_s = problem_.period_s * (cycles - 1);
    const Waveforms waves = engine_.run(deck_at(problem_, point), spec_);
    ++runs_;
    VectorXd next(z.size());
    for (std::size_t i = 0; i < waves.final_state.size(); ++i) {
      next[static_cast<Eigen::Index>(i)] = waves.final_state[i];
    }
    const auto first = static_cast<Eigen::Index>(waves.final_state.size());
    for (std::size_t i = 0; i < problem_.warm.size(); ++i) {
      next[first + static_cast<Eigen::Index>(i)] = std::log(settled_ohm(waves, point, i));
    }
    return next;
  }

  [[nodiscard]] PeriodicPoint unpack(const VectorXd& z) const {
    PeriodicPoint point;
    const auto states = z.size() - static_cast<Eigen::Index>(problem_.warm.size());
    point.state.assign(z.data(), z.data() + states);
    for (Eigen::Index i = states; i < z.size(); ++i) {
      point.warm_ohm.push_back(std::exp(z[i]));
    }
    return point;
  }

 private:
  [[nodiscard]] double settled_ohm(const Waveforms& waves, const PeriodicPoint& point,
                                   std::size_t i) const {
    const std::vector<double> across_v =
        difference_of(waves.node_v[2 * i], waves.node_v[2 * i + 1]);
    const double volts_rms = rms_of({waves.time_s, across_v});
    const double amps_rms = volts_rms / point.warm_ohm[i];
    const auto& law = problem_.warm[i].law;
    if (const auto* wire = std::get_if<netlists::TungstenParameters>(&law)) {
      return netlists::ohm_at_power(*wire, volts_rms * amps_rms);
    }
    return netlists::settled_ohm_at_amps(std::get<netlists::ThermistorParameters>(law), amps_rms);
  }

  Engine& engine_;
  const PeriodicProblem& problem_;
  int stride_;
  int& runs_;
  RunSpec spec_;
  std::vector<netlists::DeckNode> warm_nodes_;
};

/// Size against which a change of each coordinate is judged.
VectorXd scales_of(const std::vector<Coordinate>& kinds, const VectorXd& z, const VectorXd& next) {
  double largest_v = 1.0;
  double largest_a = 1e-3;
  double largest_vs = 1e-3;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    const auto k = static_cast<Eigen::Index>(i);
    const double size = std::max(std::abs(z[k]), std::abs(next[k]));
    if (kinds[i] == Coordinate::volts) {
      largest_v = std::max(largest_v, size);
    } else if (kinds[i] == Coordinate::amps) {
      largest_a = std::max(largest_a, size);
    } else if (kinds[i] == Coordinate::flux) {
      largest_vs = std::max(largest_vs, size);
    }
  }
  VectorXd scales(z.size());
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    scales[static_cast<Eigen::Index>(i)] = kinds[i] == Coordinate::volts  ? largest_v
                                           : kinds[i] == Coordinate::amps ? largest_a
                                           : kinds[i] == Coordinate::flux ? largest_vs
                                                                          : 1.0;
  }
  return scales;
}

/// The largest entry of a step in units of the accuracy asked for; 1 and below is settled.
double size_of(const std::vector<Coordinate>& kinds, const VectorXd& step, const VectorXd& scales,
               const std::vector<bool>& follower) {
  double largest = 0.0;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (follower[i]) {
      continue;
    }
    const auto k = static_cast<Eigen::Index>(i);
    const double limit = kinds[i] == Coordinate::volts ? 1e-4 : 1e-3;
    largest = std::max(largest, std::abs(step[k]) / (limit * scales[k]));
  }
  return largest;
}

[[noreturn]] void throw_not_found(double period_s) {
  core::SimulationError::Detail detail;
  detail.reached_s = period_s;
  throw core::SimulationError(
      "no steady state found: the circuit did not repeat itself from one mains cycle to the next; "
      "no prediction is made for this situation",
      detail);
}

}  // namespace

struct PeriodicSolver::Impl {
  Engine& engine;
  int runs = 0;
  std::optional<MatrixXd> jacobian;  ///< of F, kept between solves of equal size
  std::vector<bool> follower;        ///< known with the Jacobian

  explicit Impl(Engine& e) : engine(e) {}

  std::optional<VectorXd> search(const PeriodicProblem& problem, int stride, VectorXd& z);

  MatrixXd jacobian_at(CycleMap& map, const std::vector<Coordinate>& kinds, const VectorXd& z,
                       const VectorXd& next, const VectorXd& scales) {
    const auto n = z.size();
    MatrixXd result(n, n);
    const bool known = jacobian.has_value() && follower.size() == kinds.size();
    follower.resize(kinds.size(), false);
    for (Eigen::Index k = 0; k < n; ++k) {
      if (known && follower[static_cast<std::size_t>(k)]) {
        result.col(k) = -VectorXd::Unit(n, k);
        continue;
      }
      const Coordinate kind = kinds[static_cast<std::size_t>(k)];
      const double step = kind == Coordinate::volts  ? 1e-3 * scales[k]
                          : kind == Coordinate::amps ? 1e-2 * scales[k]
                          : kind == Coordinate::flux ? 1e-2 * scales[k]
                                                     : kLogOhmStep;
      VectorXd moved = z;
      moved[k] += step;
      const VectorXd left = (map.probe(moved) - next) / step;
      result.col(k) = left - VectorXd::Unit(n, k);
      const bool state = kind != Coordinate::log_ohm;
      const double most = (left * scales[k]).cwiseQuotient(scales).cwiseAbs().maxCoeff();
      follower[static_cast<std::size_t>(k)] = state && most < kForgotten;
    }
    return result;
  }

  /// The scales with those of followers without bound, so that they do not count in a norm.
  [[nodiscard]] VectorXd judged(VectorXd scales) const {
    for (std::size_t i = 0; i < follower.size(); ++i) {
      if (follower[i]) {
        scales[static_cast<Eigen::Index>(i)] = 1e300;
      }
    }
    return scales;
  }
};

PeriodicSolver::PeriodicSolver(Engine& engine) : impl_(std::make_unique<Impl>(engine)) {}
PeriodicSolver::~PeriodicSolver() = default;

void PeriodicSolver::start_from(const PeriodicSolver& other) {
  impl_->jacobian = other.impl_->jacobian;
  impl_->follower = other.impl_->follower;
}

int PeriodicSolver::cycle_runs() const { return impl_->runs; }

netlists::Deck deck_at(const PeriodicProblem& problem, const PeriodicPoint& point) {
  netlists::Deck deck = problem.deck;
  netlists::set_start_state(deck, point.state);
  FIRSTGLOW_REQUIRE(point.warm_ohm.size() == problem.warm.size(), "one value per warm resistance");
  for (std::size_t i = 0; i < problem.warm.size(); ++i) {
    resistor_at(deck, problem.warm[i].element).ohm = point.warm_ohm[i];
  }
  return deck;
}

namespace {

VectorXd first_point(const PeriodicProblem& problem, const PeriodicPoint& guess,
                     std::size_t states) {
  VectorXd z(static_cast<Eigen::Index>(states + problem.warm.size()));
  const std::vector<double> start =
      guess.state.empty() ? netlists::start_state(problem.deck) : guess.state;
  FIRSTGLOW_REQUIRE(start.size() == states, "a guess has one value per state");
  for (std::size_t i = 0; i < states; ++i) {
    z[static_cast<Eigen::Index>(i)] = start[i];
  }
  for (std::size_t i = 0; i < problem.warm.size(); ++i) {
    const double ohm =
        guess.warm_ohm.empty()
            ? resistor_at(const_cast<netlists::Deck&>(problem.deck), problem.warm[i].element).ohm
            : guess.warm_ohm.at(i);
    z[static_cast<Eigen::Index>(states + i)] = std::log(ohm);
  }
  return z;
}

/// Keeps one Newton step from throwing a warm resistance across decades.
VectorXd bounded(const std::vector<Coordinate>& kinds, VectorXd step) {
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    if (kinds[i] == Coordinate::log_ohm) {
      double& move = step[static_cast<Eigen::Index>(i)];
      move = std::clamp(move, -kLargestLogOhmMove, kLargestLogOhmMove);
    }
  }
  return step;
}

}  // namespace

/// One search by Newton's method with a map over `stride` cycles; empty when it does not settle.
/// `z` is the start, and the last point reached.
std::optional<VectorXd> PeriodicSolver::Impl::search(const PeriodicProblem& problem, int stride,
                                                     VectorXd& z) {
  CycleMap map(engine, problem, stride, runs);
  const std::vector<Coordinate> kinds = coordinates_of(problem);
  const bool slow = stride > 1;
  VectorXd next = map(z);
  std::optional<VectorXd> best;
  double best_size = kLooseSteps;
  int jacobians = 0;
  int slow_rounds = 0;
  double last_size = 0.0;
  if (!jacobian) {
    follower.assign(kinds.size(), false);
  }
  for (int round = 0; round < (slow ? kMostSlowSteps : kMostNewtonSteps); ++round) {
    const VectorXd scales = scales_of(kinds, z, next);
    const double size = (next - z).cwiseQuotient(judged(scales)).norm();
    slow_rounds = round > 0 && size > kSlowFall * last_size ? slow_rounds + 1 : 0;
    const bool stalled = slow_rounds >= kSlowRounds || (round > 0 && size > kGrowth * last_size);
    if (!jacobian || (stalled && jacobians < kMostJacobians)) {
      if (stalled || size > kFarAway) {
        z = map.approach(next);
        next = map(z);
      }
      jacobian = jacobian_at(map, kinds, z, next, scales);
      ++jacobians;
      slow_rounds = 0;
    }
    if (!jacobian->allFinite()) {
      break;  // a decomposition would pivot on rows that are not there
    }
    const VectorXd full_step = jacobian->partialPivLu().solve(-(next - z));
    if (!full_step.allFinite()) {
      break;
    }
    const VectorXd step = bounded(kinds, full_step);
    const VectorXd old_residual = next - z;
    const double step_size = size_of(kinds, step, scales, follower);
    if (problem.slack > 0.0 && step_size <= problem.slack) {
      return z;
    }
    z += step;
    if (step_size <= 1.0) {
      return z;
    }
    if (slow && step_size < best_size) {
      best_size = step_size;
      best = z;
    }
    last_size = old_residual.cwiseQuotient(judged(scales)).norm();
    next = map(z);
    const VectorXd change = (next - z) - old_residual;
    // Broyden's least change, measured in the size of each coordinate
    const VectorXd weighed = step.cwiseQuotient(judged(scales)).cwiseQuotient(scales);
    if (const double norm = step.dot(weighed); norm > 0.0) {
      *jacobian += (change - *jacobian * step) * weighed.transpose() / norm;
    }
  }
  jacobian.reset();
  return best;
}

PeriodicPoint PeriodicSolver::solve(const PeriodicProblem& problem, const PeriodicPoint& guess) {
  CycleMap map(impl_->engine, problem, 1, impl_->runs);
  VectorXd z = first_point(problem, guess, coordinates_of(problem).size() - problem.warm.size());
  if (z.size() == 0) {
    return map.unpack(z);  // nothing to settle: a purely resistive circuit
  }
  if (guess.state.empty()) {
    z = map.approach(z);
  }
  if (impl_->jacobian && impl_->jacobian->rows() != z.size()) {
    impl_->jacobian.reset();
  }
  if (const auto found = impl_->search(problem, 1, z)) {
    return map.unpack(*found);
  }
  if (!z.allFinite()) {
    throw_not_found(problem.period_s);
  }
  const auto found = impl_->search(problem, kManyCycles, z);
  impl_->jacobian.reset();  // it belongs to the map over many cycles
  if (!found) {
    throw_not_found(problem.period_s);
  }
  return map.unpack(*found);
}

}  // namespace firstglow::sim
