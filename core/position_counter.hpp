#pragma once
/// @file
/// On which line and column does each of many places in one text stand?

#include <string_view>

#include "core/error.hpp"

namespace firstglow::core {

/// As position_at(), for places that come in rising order: each character is looked at once. A
/// place before the last one is found from the beginning.
class PositionCounter {
 public:
  explicit PositionCounter(std::string_view text) : text_(text) {}
  [[nodiscard]] SourcePosition at(std::size_t offset);

 private:
  std::string_view text_;
  std::size_t offset_ = 0;
  SourcePosition where_{1, 1};
};

}  // namespace firstglow::core
