#include "tests/optimism/independent_course.hpp"

#include <cmath>
#include <stdexcept>
#include <utility>

namespace firstglow::test {
namespace {

using Matrix = IndependentCourse::Matrix;

constexpr int kTaylorTerms = 24;

Matrix zeros(std::size_t rows, std::size_t columns) {
  return Matrix(rows, std::vector<long double>(columns, 0.0L));
}

/// Solves a x = b for all columns of b, with row exchanges.
Matrix solved(Matrix a, Matrix b) {
  const std::size_t n = a.size();
  for (std::size_t column = 0; column < n; ++column) {
    std::size_t best = column;
    for (std::size_t row = column + 1; row < n; ++row) {
      best = std::abs(a[row][column]) > std::abs(a[best][column]) ? row : best;
    }
    if (a[best][column] == 0.0L) {
      throw std::runtime_error("the network has no single solution");
    }
    std::swap(a[best], a[column]);
    std::swap(b[best], b[column]);
    for (std::size_t row = 0; row < n; ++row) {
      const long double factor = row == column ? 0.0L : a[row][column] / a[column][column];
      if (factor == 0.0L) {
        continue;
      }
      for (std::size_t k = column; k < n; ++k) {
        a[row][k] -= factor * a[column][k];
      }
      for (std::size_t k = 0; k < b[row].size(); ++k) {
        b[row][k] -= factor * b[column][k];
      }
    }
  }
  for (std::size_t row = 0; row < n; ++row) {
    for (long double& value : b[row]) {
      value /= a[row][row];
    }
  }
  return b;
}

std::size_t at(int node) { return static_cast<std::size_t>(node); }

/// One node of each part of the network that hangs together: held at 0 V.
std::vector<int> held_nodes(const sim::LinearNetwork& network) {
  std::vector<int> group(at(network.node_count));
  for (std::size_t i = 0; i < group.size(); ++i) {
    group[i] = static_cast<int>(i);
  }
  for (const auto* list : {&network.resistors, &network.capacitors, &network.inductors}) {
    for (const sim::LinearBranch& branch : *list) {
      const int from = group[at(branch.a)], to = group[at(branch.b)];
      for (int& one : group) {
        one = one == from ? to : one;
      }
    }
  }
  std::vector<int> held;
  std::vector<bool> seen(group.size(), false);
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (!seen[at(group[i])]) {
      seen[at(group[i])] = true;
      held.push_back(static_cast<int>(i));
    }
  }
  return held;
}

}  // namespace

IndependentCourse::IndependentCourse(const sim::LinearNetwork& network) {
  const std::size_t nodes = at(network.node_count);
  const std::size_t caps = network.capacitors.size(), coils = network.inductors.size();
  // rows: Kirchhoff at each node (sum of currents out = 0), then v_a - v_b = v of each capacitor
  Matrix left = zeros(nodes + caps, nodes + caps);
  Matrix right = zeros(nodes + caps, caps + coils);
  for (const sim::LinearBranch& r : network.resistors) {
    const long double siemens = 1.0L / r.value;
    left[at(r.a)][at(r.a)] += siemens;
    left[at(r.b)][at(r.b)] += siemens;
    left[at(r.a)][at(r.b)] -= siemens;
    left[at(r.b)][at(r.a)] -= siemens;
  }
  for (std::size_t k = 0; k < caps; ++k) {
    const sim::LinearBranch& c = network.capacitors[k];
    left[at(c.a)][nodes + k] += 1.0L;
    left[at(c.b)][nodes + k] -= 1.0L;
    left[nodes + k][at(c.a)] += 1.0L;
    left[nodes + k][at(c.b)] -= 1.0L;
    right[nodes + k][k] = 1.0L;
  }
  for (std::size_t k = 0; k < coils; ++k) {
    right[at(network.inductors[k].a)][caps + k] -= 1.0L;
    right[at(network.inductors[k].b)][caps + k] += 1.0L;
  }
  for (const int node : held_nodes(network)) {
    left[at(node)].assign(nodes + caps, 0.0L);
    left[at(node)][at(node)] = 1.0L;
    right[at(node)].assign(caps + coils, 0.0L);
  }
  const Matrix found = solved(std::move(left), std::move(right));
  matrix_ = zeros(caps + coils, caps + coils);
  for (std::size_t j = 0; j < caps + coils; ++j) {
    for (std::size_t k = 0; k < caps; ++k) {
      matrix_[k][j] = found[nodes + k][j] / network.capacitors[k].value;
    }
    for (std::size_t k = 0; k < coils; ++k) {
      const sim::LinearBranch& coil = network.inductors[k];
      matrix_[caps + k][j] = (found[at(coil.a)][j] - found[at(coil.b)][j]) / coil.value;
    }
  }
}

Matrix IndependentCourse::product(const Matrix& a, const Matrix& b) {
  Matrix result = zeros(a.size(), b.empty() ? 0 : b.front().size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t k = 0; k < b.size(); ++k) {
      for (std::size_t j = 0; j < b[k].size(); ++j) {
        result[i][j] += a[i][k] * b[k][j];
      }
    }
  }
  return result;
}

std::vector<double> IndependentCourse::times(const Matrix& a, const std::vector<double>& x) {
  std::vector<double> result;
  for (const std::vector<long double>& row : a) {
    long double sum = 0.0L;
    for (std::size_t j = 0; j < x.size(); ++j) {
      sum += row[j] * x[j];
    }
    result.push_back(static_cast<double>(sum));
  }
  return result;
}

Matrix IndependentCourse::propagator(double time_s) const {
  long double norm = 0.0L;
  for (const auto& row : matrix_) {
    long double sum = 0.0L;
    for (const long double value : row) {
      sum += std::abs(value) * time_s;
    }
    norm = std::max(norm, sum);
  }
  int squarings = 0;
  while (norm > 0.5L) {
    norm /= 2.0L;
    ++squarings;
  }
  Matrix scaled = matrix_;
  for (auto& row : scaled) {
    for (long double& value : row) {
      value *= time_s / std::pow(2.0L, squarings);
    }
  }
  const std::size_t n = matrix_.size();
  Matrix sum = zeros(n, n), term = zeros(n, n);
  for (std::size_t i = 0; i < n; ++i) {
    sum[i][i] = term[i][i] = 1.0L;
  }
  for (int k = 1; k <= kTaylorTerms; ++k) {
    term = product(term, scaled);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t j = 0; j < n; ++j) {
        term[i][j] /= k;
        sum[i][j] += term[i][j];
      }
    }
  }
  for (int i = 0; i < squarings; ++i) {
    sum = product(sum, sum);
  }
  return sum;
}

}  // namespace firstglow::test
