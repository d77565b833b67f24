#include "sim/studies/stiff_ode.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using Vector = std::vector<double>;

const double kGamma = 1.0 - std::sqrt(0.5);
constexpr int kNewtonSteps = 12;
constexpr double kNewtonShare = 0.02;  ///< of the tolerance
constexpr double kShortestStepSeconds = 1e-10;
constexpr double kFirstStepSeconds = 1e-4;

/// A square matrix, row by row, factored in place with row exchange.
class Matrix {
 public:
  explicit Matrix(std::size_t size) : size_(size), cells_(size * size, 0.0), row_(size) {}
  double& at(std::size_t row, std::size_t column) { return cells_[row * size_ + column]; }

  /// LU with partial pivoting; false when singular.
  bool factor() {
    for (std::size_t k = 0; k < size_; ++k) {
      std::size_t best = k;
      for (std::size_t i = k + 1; i < size_; ++i) {
        best = std::abs(at(i, k)) > std::abs(at(best, k)) ? i : best;
      }
      row_[k] = best;
      for (std::size_t j = 0; j < size_; ++j) {
        std::swap(at(k, j), at(best, j));
      }
      if (!(std::abs(at(k, k)) > 0.0) || !std::isfinite(at(k, k))) {
        return false;
      }
      for (std::size_t i = k + 1; i < size_; ++i) {
        at(i, k) /= at(k, k);
        for (std::size_t j = k + 1; j < size_; ++j) {
          at(i, j) -= at(i, k) * at(k, j);
        }
      }
    }
    return true;
  }

  Vector solve(Vector b) {
    for (std::size_t k = 0; k < size_; ++k) {
      std::swap(b[k], b[row_[k]]);
    }
    for (std::size_t k = 0; k < size_; ++k) {
      for (std::size_t i = k + 1; i < size_; ++i) {
        b[i] -= at(i, k) * b[k];
      }
    }
    for (std::size_t k = size_; k-- > 0;) {
      for (std::size_t j = k + 1; j < size_; ++j) {
        b[k] -= at(k, j) * b[j];
      }
      b[k] /= at(k, k);
    }
    return b;
  }

 private:
  std::size_t size_;
  Vector cells_;
  std::vector<std::size_t> row_;
};

class Stepper {
 public:
  Stepper(const OdeRate& rate, const OdeTolerance& tolerance) : rate_(rate), tol_(tolerance) {}

  struct Step {
    Vector y;
    double error = 0.0;  ///< over the tolerance
  };

  /// Empty when Newton did not converge.
  std::optional<Step> step(double time_s, const Vector& y, double h) {
    if (!factor(time_s, y, h)) {
      return std::nullopt;
    }
    const Vector slope = rate_(time_s, y);
    const std::optional<Vector> k1 = stage(time_s + kGamma * h, y, h, slope);
    if (!k1) {
      return std::nullopt;
    }
    Vector base = y;
    add(base, (1.0 - kGamma) * h, *k1);
    const std::optional<Vector> k2 = stage(time_s + h, base, h, *k1);
    if (!k2) {
      return std::nullopt;
    }
    Step result{base, 0.0};
    add(result.y, kGamma * h, *k2);
    Vector difference(y.size());
    for (std::size_t i = 0; i < y.size(); ++i) {
      difference[i] = kGamma * h * ((*k2)[i] - (*k1)[i]);
    }
    result.error = size_of(newton_->solve(std::move(difference)), result.y);
    return result;
  }

 private:
  static void add(Vector& y, double factor, const Vector& slope) {
    for (std::size_t i = 0; i < y.size(); ++i) {
      y[i] += factor * slope[i];
    }
  }

  [[nodiscard]] double size_of(const Vector& change, const Vector& y) const {
    double largest = 0.0;
    for (std::size_t i = 0; i < y.size(); ++i) {
      const double allowed = tol_.absolute[i] + tol_.relative * std::abs(y[i]);
      const double share = std::abs(change[i]) / allowed;
      largest = std::isfinite(share) ? std::max(largest, share) : HUGE_VAL;
    }
    return largest;
  }

  bool factor(double time_s, const Vector& y, double h) {
    const Vector here = rate_(time_s, y);
    newton_.emplace(y.size());
    for (std::size_t j = 0; j < y.size(); ++j) {
      Vector moved = y;
      const double by = 1e-7 * std::abs(y[j]) + 1e-3 * tol_.absolute[j];
      moved[j] += by;
      const Vector there = rate_(time_s, moved);
      for (std::size_t i = 0; i < y.size(); ++i) {
        const double slope = (there[i] - here[i]) / by;
        newton_->at(i, j) = (i == j ? 1.0 : 0.0) - kGamma * h * slope;
      }
    }
    return newton_->factor();
  }

  /// Solves k = f(t, base + gamma h k).
  std::optional<Vector> stage(double time_s, const Vector& base, double h, Vector k) {
    for (int i = 0; i < kNewtonSteps; ++i) {
      Vector y = base;
      add(y, kGamma * h, k);
      const Vector f = rate_(time_s, y);
      Vector defect(y.size());
      for (std::size_t j = 0; j < y.size(); ++j) {
        defect[j] = kGamma * h * (f[j] - k[j]);
      }
      const Vector change = newton_->solve(std::move(defect));
      add(k, 1.0 / (kGamma * h), change);
      const double size = size_of(change, y);
      if (!std::isfinite(size)) {
        return std::nullopt;
      }
      if (size < kNewtonShare) {
        return k;
      }
    }
    return std::nullopt;
  }

  const OdeRate& rate_;
  const OdeTolerance& tol_;
  std::optional<Matrix> newton_;
};

}  // namespace

OdeEnd integrate(const OdeRate& rate, std::vector<double> start, double from_s, double to_s,
                 const OdeTolerance& tolerance, const OdeWatch& watch) {
  FIRSTGLOW_REQUIRE(tolerance.absolute.size() == start.size() && to_s >= from_s,
                    "an integration has one tolerance per state and runs forward");
  Stepper stepper(rate, tolerance);
  OdeEnd end{from_s, std::move(start), 0};
  double h = kFirstStepSeconds;
  bool go_on = !watch || watch(end.time_s, end.y);
  while (go_on && end.time_s < to_s) {
    const double left_s = to_s - end.time_s;
    const double used = std::min({h, left_s, tolerance.longest_step_s});
    const std::optional<Stepper::Step> step = stepper.step(end.time_s, end.y, used);
    if (!step || step->error > 1.0) {
      h = used * (step ? std::clamp(0.9 / std::sqrt(step->error), 0.1, 0.8) : 0.25);
      if (h < kShortestStepSeconds) {
        core::SimulationError::Detail detail;
        detail.reached_s = end.time_s;
        throw core::SimulationError("the forming equations have no solution that can be followed",
                                    detail);
      }
      continue;
    }
    end.time_s = used == left_s ? to_s : end.time_s + used;
    end.y = step->y;
    ++end.steps;
    h = used * std::clamp(0.9 / std::sqrt(std::max(step->error, 1e-6)), 0.3, 3.0);
    go_on = !watch || watch(end.time_s, end.y);
  }
  return end;
}

}  // namespace firstglow::sim
