#include "sim/report/page.hpp"

#include <algorithm>
#include <utility>
#include <vector>

namespace firstglow::sim {
namespace {

std::string spaces(int count) { return std::string(static_cast<std::size_t>(count), ' '); }

int widest(const std::vector<std::string>& lines) {
  int width = 0;
  for (const std::string& line : lines) {
    width = std::max(width, columns_of(line));
  }
  return width;
}

std::string without_trailing_spaces(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

}  // namespace

void Page::put(const std::string& line) {
  text_ += without_trailing_spaces(line);
  text_ += '\n';
}

Page& Page::blank() {
  const bool at_start = text_.empty();
  const bool is_blank = text_.size() >= 2 && text_.compare(text_.size() - 2, 2, "\n\n") == 0;
  if (!at_start && !is_blank) {
    text_ += '\n';
  }
  return *this;
}

Page& Page::title(std::string_view text) {
  const std::vector<std::string> lines = wrapped(shown(text, style_), style_.width);
  for (const std::string& line : lines) {
    put(line);
  }
  put(std::string(static_cast<std::size_t>(widest(lines)), '='));
  return *this;
}

Page& Page::heading(std::string_view text) {
  blank();
  const std::vector<std::string> lines = wrapped(shown(text, style_), style_.width);
  for (const std::string& line : lines) {
    put(line);
  }
  put(std::string(static_cast<std::size_t>(widest(lines)), '-'));
  return *this;
}

Page& Page::text(std::string_view text, int indent, int hang) {
  // The further lines are narrower by the hang; all are wrapped to that width.
  const std::vector<std::string> lines = wrapped(shown(text, style_), style_.width - indent - hang);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    put(spaces(indent + (i > 0 ? hang : 0)) + lines[i]);
  }
  return *this;
}

Page& Page::item(std::string_view marker, std::string_view text, int indent) {
  const std::string mark = shown(marker, style_) + " ";
  const int used = indent + columns_of(mark);
  if (used > style_.width / 2) {
    return this->text(std::string(marker) + " " + std::string(text), indent, 2);
  }
  const std::vector<std::string> lines = wrapped(shown(text, style_), style_.width - used);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    put(i == 0 ? spaces(indent) + mark + lines[i] : spaces(used) + lines[i]);
  }
  return *this;
}

Page& Page::table(const Table& table, int indent) {
  for (const std::string& line : table.lines(style_, style_.width - indent)) {
    put(spaces(indent) + line);
  }
  return *this;
}

std::string Page::take() {
  while (text_.size() >= 2 && text_.compare(text_.size() - 2, 2, "\n\n") == 0) {
    text_.pop_back();
  }
  return std::exchange(text_, {});
}

}  // namespace firstglow::sim
