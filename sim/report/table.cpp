#include "sim/report/table.hpp"

#include <algorithm>
#include <numeric>
#include <string_view>
#include <utility>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using Lines = std::vector<std::string>;
using Cells = std::vector<Lines>;  // of one row: [column][line]

constexpr int kLeastLeftWidth = 6;
constexpr std::string_view kGap = "  ";

std::string spaces(int count) { return std::string(static_cast<std::size_t>(count), ' '); }

/// Lines of a heading, made harmless, not yet wrapped.
Lines heading_lines(const std::string& heading, const TextStyle& style) {
  Lines lines;
  std::size_t start = 0;
  while (start <= heading.size()) {
    const std::size_t end = std::min(heading.find('\n', start), heading.size());
    lines.push_back(shown(std::string_view(heading).substr(start, end - start), style));
    start = end + 1;
  }
  return lines;
}

int widest(const Lines& lines) {
  int width = 0;
  for (const std::string& line : lines) {
    width = std::max(width, columns_of(line));
  }
  return width;
}

Lines wrapped_lines(const Lines& lines, int width) {
  Lines all;
  for (const std::string& line : lines) {
    for (std::string& part : wrapped(line, width)) {
      all.push_back(std::move(part));
    }
  }
  return all;
}

/// Narrows the widest columns first, none below `least`, until all fit. @returns do they fit?
bool narrow(std::vector<int>& widths, const std::vector<int>& least, int room) {
  while (std::accumulate(widths.begin(), widths.end(), 0) > room) {
    std::size_t chosen = widths.size();
    for (std::size_t i = 0; i < widths.size(); ++i) {
      if (widths[i] > least[i] && (chosen == widths.size() || widths[i] > widths[chosen])) {
        chosen = i;
      }
    }
    if (chosen == widths.size()) {
      return false;
    }
    --widths[chosen];
  }
  return true;
}

std::string trimmed_end(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

/// One row as printed lines; cells of fewer lines stand at the top, headings at the bottom.
void lay_row(Lines& out, const Cells& cells, const std::vector<int>& widths,
             const std::vector<Column>& columns, bool at_bottom) {
  std::size_t height = 1;
  for (const Lines& cell : cells) {
    height = std::max(height, cell.size());
  }
  for (std::size_t line = 0; line < height; ++line) {
    std::string text;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const std::size_t skip = at_bottom ? height - cells[i].size() : 0;
      const bool here = line >= skip && line - skip < cells[i].size();
      const std::string cell = here ? cells[i][line - skip] : std::string();
      const std::string pad = spaces(std::max(0, widths[i] - columns_of(cell)));
      text += i > 0 ? kGap : "";
      text += columns[i].align == Align::right ? pad + cell : cell + pad;
    }
    out.push_back(trimmed_end(text));
  }
}

/// Rows as paragraphs, for numbers that do not fit side by side.
Lines as_paragraphs(const std::vector<Cells>& rows, int width) {
  Lines out;
  for (std::size_t r = 1; r < rows.size(); ++r) {
    std::string text;
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      for (const std::string& word : rows.front()[i]) {
        text += word + " ";
      }
      text += ": " + rows[r][i].front() + "; ";
    }
    for (std::string& line : wrapped(text, width)) {
      out.push_back(std::move(line));
    }
  }
  return out;
}

std::string rule_under(const std::vector<int>& widths) {
  std::string rule;
  for (const int width : widths) {
    rule += rule.empty() ? "" : kGap;
    rule += std::string(static_cast<std::size_t>(width), '-');
  }
  return rule;
}

}  // namespace

Table::Table(std::vector<Column> columns) : columns_(std::move(columns)) {}

Table& Table::row(std::vector<std::string> cells) {
  FIRSTGLOW_REQUIRE(cells.size() == columns_.size(), "a row has one cell for each column");
  rows_.push_back(std::move(cells));
  return *this;
}

std::vector<std::string> Table::lines(const TextStyle& style, int width) const {
  std::vector<Cells> rows(1);  // the headings are row 0
  std::vector<int> widths, least;
  for (const Column& column : columns_) {
    rows.front().push_back(heading_lines(column.heading, style));
    widths.push_back(std::max(1, widest(rows.front().back())));
    least.push_back(1);
  }
  for (const auto& row : rows_) {
    rows.emplace_back();
    for (std::size_t i = 0; i < row.size(); ++i) {
      rows.back().push_back({shown(row[i], style)});
      const int cell = columns_of(rows.back().back().front());
      widths[i] = std::max(widths[i], cell);
      least[i] = std::max(
          least[i], columns_[i].align == Align::right ? cell : std::min(cell, kLeastLeftWidth));
    }
  }
  const int gaps = static_cast<int>(kGap.size()) * (static_cast<int>(columns_.size()) - 1);
  if (!narrow(widths, least, width - gaps)) {
    return as_paragraphs(rows, width);
  }
  Lines out;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      rows[r][i] = wrapped_lines(rows[r][i], widths[i]);
    }
    lay_row(out, rows[r], widths, columns_, r == 0);
    if (r == 0) {
      out.push_back(rule_under(widths));
    }
  }
  return out;
}

}  // namespace firstglow::sim
