#include "tests/published/schade_circuit.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "tests/published/ode_solver.hpp"

namespace firstglow::published {
namespace {

constexpr double kTurn = 2.0 * std::numbers::pi;
constexpr int kSamples = 4000;

/// Everything in units of Vm, RL and omega: C = wcr, RS = rs_over_rl. States: one capacitor or two,
/// then the integrals of v, v^2, i, i^2 and of conduction over the angle.
class IdealDiodes {
 public:
  explicit IdealDiodes(const SchadeCase& circuit)
      : circuit_(circuit), charges_(circuit.rectifier == Rectifier::doubler ? 2U : 1U) {}

  [[nodiscard]] std::size_t charges() const { return charges_; }

  /// Volts that drive each diode forward, before RS.
  [[nodiscard]] std::array<double, 2> drive(double angle, const double* y) const {
    const double e = std::sin(angle);
    switch (circuit_.rectifier) {
      case Rectifier::half_wave:
        return {e - y[0], -1.0};
      case Rectifier::full_wave:
        return {e - y[0], -e - y[0]};
      default:
        return {e - y[0], -e - y[1]};
    }
  }

  void rate(double angle, const double* y, double* dy) const {
    const auto drives = drive(angle, y);
    std::array<double, 2> amps{};
    for (std::size_t d = 0; d < 2; ++d) {
      amps[d] = conducts_[d] ? drives[d] / circuit_.rs_over_rl : 0.0;
    }
    const double output = charges_ == 2 ? y[0] + y[1] : y[0];
    if (charges_ == 2) {
      dy[0] = (amps[0] - output) / circuit_.wcr;
      dy[1] = (amps[1] - output) / circuit_.wcr;
    } else {
      dy[0] = (amps[0] + amps[1] - output) / circuit_.wcr;
    }
    double* sums = dy + charges_;
    sums[0] = output;
    sums[1] = output * output;
    sums[2] = amps[0];
    sums[3] = amps[0] * amps[0];
    sums[4] = conducts_[0] ? 1.0 : 0.0;
  }

  struct Cycle {
    std::vector<double> end;  ///< charges and sums
    double highest = -1e9, lowest = 1e9, peak_a = 0.0;
  };

  /// One turn from the given charges.
  Cycle run(const std::vector<double>& charge) {
    std::vector<double> start(charges_ + 5, 0.0);
    std::copy(charge.begin(), charge.end(), start.begin());
    const auto drives = drive(0.0, start.data());
    conducts_ = {drives[0] > 0.0, drives[1] > 0.0};
    OdeProblem problem;
    problem.rate = [this](double t, const double* y, double* dy) { rate(t, y, dy); };
    problem.root_count = 2;
    problem.roots = [this](double t, const double* y, double* g) {
      const auto now = drive(t, y);
      std::copy(now.begin(), now.end(), g);
    };
    OdeSolver solver(problem, start);
    Cycle cycle;
    for (int i = 1; i <= kSamples; ++i) {
      while (solver.advance(kTurn * i / kSamples)) {
        for (std::size_t d = 0; d < 2; ++d) {
          if (solver.root_directions()[d] != 0) {
            conducts_[d] = solver.root_directions()[d] > 0;
          }
        }
        note(solver, cycle);
      }
      note(solver, cycle);
    }
    cycle.end = solver.state();
    return cycle;
  }

 private:
  void note(const OdeSolver& solver, Cycle& cycle) const {
    const auto y = solver.state();
    const double output = charges_ == 2 ? y[0] + y[1] : y[0];
    cycle.highest = std::max(cycle.highest, output);
    cycle.lowest = std::min(cycle.lowest, output);
    cycle.peak_a = std::max(cycle.peak_a, drive(solver.time(), y.data())[0] / circuit_.rs_over_rl);
  }

  SchadeCase circuit_;
  std::size_t charges_;
  std::array<bool, 2> conducts_{};
};

/// Charges that repeat after one turn: Newton's method, Jacobian by differences.
std::vector<double> periodic_charges(IdealDiodes& circuit, double guess) {
  std::vector<double> z(circuit.charges(), guess);
  const auto miss = [&](const std::vector<double>& from) {
    auto end = circuit.run(from).end;
    for (std::size_t k = 0; k < from.size(); ++k) {
      end[k] -= from[k];
    }
    return end;
  };
  for (int round = 0; round < 30; ++round) {
    const auto f = miss(z);
    std::array<std::array<double, 2>, 2> slope{{{1.0, 0.0}, {0.0, 1.0}}};
    for (std::size_t j = 0; j < z.size(); ++j) {
      auto moved = z;
      moved[j] += 1e-5;
      const auto g = miss(moved);
      for (std::size_t k = 0; k < z.size(); ++k) {
        slope[k][j] = (g[k] - f[k]) / 1e-5;
      }
    }
    const double f1 = z.size() == 2 ? f[1] : 0.0;
    const double det = slope[0][0] * slope[1][1] - slope[0][1] * slope[1][0];
    const double step0 = (slope[1][1] * f[0] - slope[0][1] * f1) / det;
    const double step1 = (slope[0][0] * f1 - slope[1][0] * f[0]) / det;
    z[0] -= step0;
    if (z.size() == 2) {
      z[1] -= step1;
    }
    if (std::abs(step0) + std::abs(step1) < 1e-8) {
      break;
    }
  }
  return z;
}

}  // namespace

SchadeFigures schade_by_cvode(const SchadeCase& circuit) {
  IdealDiodes diodes(circuit);
  const double limit = schade_limit(circuit.rectifier, circuit.rs_over_rl);
  const auto charge = periodic_charges(diodes, diodes.charges() == 2 ? 0.5 * limit : limit);
  const auto cycle = diodes.run(charge);
  const double* sums = cycle.end.data() + diodes.charges();
  SchadeFigures figures;
  figures.mean = sums[0] / kTurn;
  const double ripple = std::sqrt(sums[1] / kTurn - figures.mean * figures.mean);
  figures.ripple_percent = 100.0 * ripple / figures.mean;
  figures.swing = cycle.highest - cycle.lowest;
  const double mean_a = sums[2] / kTurn;
  figures.peak_over_mean_a = cycle.peak_a / mean_a;
  figures.rms_over_mean_a = std::sqrt(sums[3] / kTurn) / mean_a;
  figures.conduction_deg = sums[4] / kTurn * 360.0;
  return figures;
}

double schade_limit(Rectifier rectifier, double rs_over_rl) {
  const double factor = rectifier == Rectifier::half_wave   ? 1.0
                        : rectifier == Rectifier::full_wave ? 0.5
                                                            : 2.0;
  const double wanted = factor * std::numbers::pi * rs_over_rl;
  double low = 0.0;
  double high = 0.5 * std::numbers::pi;
  for (int i = 0; i < 200; ++i) {
    const double t = 0.5 * (low + high);
    (std::tan(t) - t < wanted ? low : high) = t;
  }
  return (rectifier == Rectifier::doubler ? 2.0 : 1.0) * std::cos(low);
}

}  // namespace firstglow::published
