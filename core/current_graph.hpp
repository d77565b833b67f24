#pragma once
/// @file
/// Is there a way for current from one node to another?

#include <functional>
#include <vector>

#include "core/current_paths.hpp"

namespace firstglow::core {

enum class PathAnswer { found, none, unknown };

/// What a simple path must hold.
struct PathWish {
  bool source = false;
  bool diode = false;
};

/// The edges of a rig that are connected at both ends, with searches along them.
class CurrentGraph {
 public:
  explicit CurrentGraph(const Rig& rig);

  using Filter = std::function<bool(const CurrentEdge&)>;

  /// Is there any directed walk from one node to another over edges the filter allows? Exact.
  [[nodiscard]] bool is_reachable(NodeIndex from, NodeIndex to, const Filter& allowed) const;

  /// Is there a directed path without repeated nodes that holds what is wished? Bounded: `unknown`
  /// when the steps left to this graph run out. `path` gets the edges of the path found.
  PathAnswer find_path(NodeIndex from, NodeIndex to, PathWish wish, const Filter& allowed,
                       std::vector<const CurrentEdge*>& path);

 private:
  struct Search;
  PathAnswer walk(Search& search, NodeIndex at, PathWish seen);

  std::vector<CurrentEdge> edges_;
  std::vector<std::vector<int>> leaving_;  ///< by node: indices of edges usable from there
  long steps_left_;
};

}  // namespace firstglow::core
