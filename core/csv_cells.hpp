#pragma once
/// @file
/// Which cells does a comma-separated list hold, and where does each stand?

#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace firstglow::core {

/// One cell with its place; blanks around it are cut off.
struct CsvCell {
  std::string text;
  SourcePosition where;
};

using CsvRow = std::vector<CsvCell>;

/// Splits RFC 4180 text into rows of cells; quotes may hold commas, line ends and doubled quotes.
/// An open quote is a fault.
[[nodiscard]] std::vector<CsvRow> read_csv_rows(std::string_view text,
                                                std::vector<InputFault>& faults);

/// Is there nothing in the row?
[[nodiscard]] bool is_blank(const CsvRow& row);

/// The text of a file of at most `most_bytes` of plain UTF-8.
/// @param what  what was expected there, e.g. "a stock list"
/// @throws InputError
[[nodiscard]] std::string read_text_file(const std::string& path, std::size_t most_bytes,
                                         std::string_view what);

/// @throws InputError when the text is too long or holds a character that is none.
void check_plain_text(std::string_view text, std::size_t most_bytes, const std::string& file);

}  // namespace firstglow::core
