#include "core/position_counter.hpp"

#include <algorithm>

#include "core/written_text.hpp"

namespace firstglow::core {

SourcePosition PositionCounter::at(std::size_t offset) {
  offset = std::min(offset, text_.size());
  if (offset < offset_) {
    return position_at(text_, offset);
  }
  const SourcePosition ahead = position_at(text_.substr(offset_), offset - offset_);
  where_ = ahead.line == 1 ? SourcePosition{where_.line, where_.column + ahead.column - 1}
                           : SourcePosition{where_.line + ahead.line - 1, ahead.column};
  offset_ = offset;
  return where_;
}

}  // namespace firstglow::core
