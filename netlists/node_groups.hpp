#pragma once
/// @file
/// Which nodes hang together? Disjoint sets over 0 .. count - 1.

#include <cstddef>
#include <numeric>
#include <vector>

namespace firstglow::netlists {

class NodeGroups {
 public:
  explicit NodeGroups(std::size_t count) : parent_(count) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
  }

  /// A node that stands for the whole group of `node`.
  [[nodiscard]] std::size_t root(std::size_t node) {
    while (parent_[node] != node) {
      parent_[node] = parent_[parent_[node]];
      node = parent_[node];
    }
    return node;
  }
  void join(std::size_t a, std::size_t b) { parent_[root(a)] = root(b); }
  [[nodiscard]] bool same(std::size_t a, std::size_t b) { return root(a) == root(b); }

 private:
  std::vector<std::size_t> parent_;
};

}  // namespace firstglow::netlists
