#pragma once
/// @file
/// How are rows of numbers and words set under headings?

#include <string>
#include <vector>

#include "sim/report/shown_text.hpp"

namespace firstglow::sim {

enum class Align { left, right };

struct Column {
  std::string heading;  ///< '\n' starts a second heading line
  Align align = Align::left;
};

/// Rows of text cells under headings. When the page is too narrow, words and headings wrap; a
/// number in a right column is never cut: if the numbers do not fit side by side, each row becomes
/// a paragraph of `heading: number`.
class Table {
 public:
  explicit Table(std::vector<Column> columns);
  /// @throws ContractError  when the number of cells is not the number of columns.
  Table& row(std::vector<std::string> cells);
  [[nodiscard]] bool empty() const { return rows_.empty(); }
  [[nodiscard]] std::vector<std::string> lines(const TextStyle& style, int width) const;

 private:
  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace firstglow::sim
