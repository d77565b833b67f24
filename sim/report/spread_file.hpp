#pragma once
/// @file
/// How do the draws of a shard travel from one machine to another?
///
/// A comma-separated file (RFC 4180): a line that says which spread it is of, the columns with
/// units and limits, the nominal readings, then one row for each draw. Numbers are written so that
/// they are read back to the last bit. Grammar and example: docs/spread.md.

#include <string>

#include "sim/studies/spread.hpp"

namespace firstglow::sim {

[[nodiscard]] std::string spread_file_text(const SpreadTable& table);

/// @throws InputError with every fault of the file.
[[nodiscard]] SpreadTable read_spread_file(const std::string& path);

}  // namespace firstglow::sim
