#pragma once
/// @file
/// What lies in the drawer? A comma-separated list of parts (RFC 4180) with a heading line.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"

namespace firstglow::core {

/// Largest stock list accepted [bytes], most rows.
inline constexpr std::size_t kLargestStockFile = std::size_t{256} * 1024;
inline constexpr std::size_t kMostStockRows = 500;

/// Outer measures in mm, each above 0: diameter and length of a round part, or three edges.
struct BodySize {
  std::vector<double> mm;  ///< two or three, as written
};

/// "25x40 mm", "18 x 8 x 30 mm", "1 x 2 in". Empty when it is none of these.
[[nodiscard]] std::optional<BodySize> read_body_size(std::string_view text);

/// Does a body go into a hole of that size? A round part (two measures) stands or lies; edges are
/// turned in every way that keeps them parallel.
[[nodiscard]] bool fits_into(const BodySize& body, const BodySize& hole);

/// One row. Texts are as written; empty means not known. Which columns matter depends on the part
/// to be replaced (docs/stock.md).
struct StockPart {
  std::string name;  ///< label on the drawer
  std::string type, value, tolerance, volts, surge_volts, watts, amps;
  std::optional<BodySize> size;
  int quantity = 1;
  SourcePosition where;
};

/// Read a stock list. Columns are found by their headings, in any order: name (needed), type,
/// value, tolerance, volts, surge_volts, watts, amps, size, quantity.
/// @throws InputError with every fault of the file.
[[nodiscard]] std::vector<StockPart> read_stock_file(const std::string& path);
[[nodiscard]] std::vector<StockPart> read_stock_text(std::string_view text,
                                                     const std::string& file);

}  // namespace firstglow::core
