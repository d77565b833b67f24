#include "sim/report/page.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

constexpr int kLeastLeftWidth = 6;

std::string spaces(int count) { return std::string(static_cast<std::size_t>(count), ' '); }

/// Lines of a cell or heading, made harmless, not yet wrapped; only headings have several.
std::vector<std::string> heading_lines(const std::string& heading, const TextStyle& style) {
  std::vector<std::string> lines;
  std::size_t start = 0;
  while (start <= heading.size()) {
    const std::size_t end = std::min(heading.find('\n', start), heading.size());
    lines.push_back(shown(std::string_view(heading).substr(start, end - start), style));
    start = end + 1;
  }
  return lines;
}

int widest(const std::vector<std::string>& lines) {
  int width = 0;
  for (const std::string& line : lines) {
    width = std::max(width, columns_of(line));
  }
  return width;
}

std::vector<std::string> wrapped_lines(const std::vector<std::string>& lines, int width) {
  std::vector<std::string> all;
  for (const std::string& line : lines) {
    for (std::string& part : wrapped(line, width)) {
      all.push_back(std::move(part));
    }
  }
  return all;
}

std::string without_trailing_spaces(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

}  // namespace

Table::Table(std::vector<Column> columns) : columns_(std::move(columns)) {}

Table& Table::row(std::vector<std::string> cells) {
  FIRSTGLOW_REQUIRE(cells.size() == columns_.size(), "a row has one cell for each column");
  rows_.push_back(std::move(cells));
  return *this;
}

namespace {

/// Narrows the widest left columns, and then any, until all fit.
void narrow(std::vector<int>& widths, const std::vector<Column>& columns, int room) {
  while (std::accumulate(widths.begin(), widths.end(), 0) > room) {
    std::size_t chosen = widths.size();
    for (std::size_t i = 0; i < widths.size(); ++i) {
      if (columns[i].align == Align::left && widths[i] > kLeastLeftWidth &&
          (chosen == widths.size() || widths[i] > widths[chosen])) {
        chosen = i;
      }
    }
    if (chosen == widths.size()) {
      chosen =
          static_cast<std::size_t>(std::max_element(widths.begin(), widths.end()) - widths.begin());
    }
    if (widths[chosen] <= 1) {
      return;
    }
    --widths[chosen];
  }
}

/// One row of cells as printed lines; cells of several lines are put at the top or the bottom.
void lay_row(std::vector<std::string>& out, const std::vector<std::vector<std::string>>& cells,
             const std::vector<int>& widths, const std::vector<Column>& columns, bool at_bottom) {
  std::size_t height = 1;
  for (const auto& cell : cells) {
    height = std::max(height, cell.size());
  }
  for (std::size_t line = 0; line < height; ++line) {
    std::string text;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::size_t skip = at_bottom ? height - cells[i].size() : 0;
      const bool here = line >= skip && line - skip < cells[i].size();
      const std::string cell = here ? cells[i][line - skip] : std::string();
      const std::string pad = spaces(std::max(0, widths[i] - columns_of(cell)));
      text += (i > 0 ? "  " : "");
      text += columns[i].align == Align::right ? pad + cell : cell + pad;
    }
    out.push_back(without_trailing_spaces(text));
  }
}

}  // namespace

std::vector<std::string> Table::lines(const TextStyle& style, int width) const {
  std::vector<std::vector<std::vector<std::string>>> cells;  // [row][column][line]; row 0: headings
  cells.emplace_back();
  for (const Column& column : columns_) {
    cells.back().push_back(heading_lines(column.heading, style));
  }
  for (const auto& row : rows_) {
    cells.emplace_back();
    for (const std::string& cell : row) {
      cells.back().push_back({shown(cell, style)});
    }
  }
  std::vector<int> widths(columns_.size(), 1);
  for (const auto& row : cells) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      widths[i] = std::max(widths[i], widest(row[i]));
    }
  }
  narrow(widths, columns_, width - 2 * (static_cast<int>(columns_.size()) - 1));
  std::vector<std::string> out;
  for (std::size_t r = 0; r < cells.size(); ++r) {
    for (std::size_t i = 0; i < cells[r].size(); ++i) {
      cells[r][i] = wrapped_lines(cells[r][i], widths[i]);
    }
    lay_row(out, cells[r], widths, columns_, r == 0);
    if (r == 0) {
      std::string rule;
      for (const int column_width : widths) {
        rule +=
            (rule.empty() ? "" : "  ") + std::string(static_cast<std::size_t>(column_width), '-');
      }
      out.push_back(rule);
    }
  }
  return out;
}

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
