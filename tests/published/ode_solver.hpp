#pragma once
/// @file
/// A second integrator for tests: SUNDIALS CVODE with rootfinding, nothing of ours inside.

#include <functional>
#include <memory>
#include <vector>

namespace firstglow::published {

/// dy/dt = rate(t, y); stops where one of `roots` passes zero.
struct OdeProblem {
  std::function<void(double t, const double* y, double* rate)> rate;
  int root_count = 0;
  std::function<void(double t, const double* y, double* roots)> roots;
};

/// Variable order BDF, dense Newton, relative and absolute tolerance 1e-10.
/// Every failure of the library throws std::runtime_error.
class OdeSolver {
 public:
  OdeSolver(OdeProblem problem, const std::vector<double>& start);
  ~OdeSolver();
  OdeSolver(const OdeSolver&) = delete;
  OdeSolver& operator=(const OdeSolver&) = delete;

  /// Integrates to `until`. Returns true when a root came first; then root_directions() says which
  /// passed zero (+1 rising, -1 falling, 0 not), and the integration begins afresh from there.
  bool advance(double until);

  [[nodiscard]] double time() const;
  [[nodiscard]] std::vector<double> state() const;
  [[nodiscard]] const std::vector<int>& root_directions() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace firstglow::published
