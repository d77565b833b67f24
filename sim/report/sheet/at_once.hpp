#pragma once
/// @file
/// Pieces of the page that do not depend on each other are made at the same time: most of their
/// time is that of the programs which draw.

#include <functional>
#include <future>
#include <vector>

#include "sim/report/sheet/html.hpp"

namespace firstglow::sim {

/// In the order asked for. @throws what the first piece that failed has thrown, after all ended
[[nodiscard]] inline std::vector<Markup> made_at_once(
    const std::vector<std::function<Markup()>>& pieces) {
  std::vector<std::future<Markup>> under_way;
  under_way.reserve(pieces.size());
  for (const std::function<Markup()>& piece : pieces) {
    under_way.push_back(std::async(std::launch::async, piece));
  }
  std::vector<Markup> made;
  made.reserve(pieces.size());
  for (std::future<Markup>& piece : under_way) {
    made.push_back(piece.get());
  }
  return made;
}

}  // namespace firstglow::sim
