#include "sim/report/spread_file.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <optional>

#include "core/csv_cells.hpp"
#include "core/error.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

using core::CsvCell;
using core::CsvRow;

constexpr std::size_t kLargestFile = std::size_t{256} << 20;
constexpr std::size_t kHeadRows = 6;  ///< which spread, names, units, parts, limits, nominal
constexpr const char* kMark = "firstglow spread 1";

/// The shortest digits that are read back to the same bits.
std::string exact(double value) { return fmt::format("{}", value); }

template <class Number>
std::optional<Number> number_in(const CsvCell& cell, int base = 10) {
  Number value{};
  const char* end = cell.text.data() + cell.text.size();
  std::from_chars_result result{};
  if constexpr (std::is_floating_point_v<Number>) {
    result = std::from_chars(cell.text.data(), end, value);
  } else {
    result = std::from_chars(cell.text.data(), end, value, base);
  }
  if (result.ec != std::errc{} || result.ptr != end) {
    return std::nullopt;
  }
  return value;
}

/// Reads one file and collects its faults.
class Reader {
 public:
  explicit Reader(std::string path) : path_(std::move(path)) {}

  SpreadTable read() {
    const std::string text = core::read_text_file(path_, kLargestFile, "a shard of a spread");
    const std::vector<CsvRow> rows = core::read_csv_rows(text, faults_);
    if (rows.size() < kHeadRows || rows[0].size() != 5 || rows[0][0].text != kMark) {
      fault({{}, {1, 1}},
            fmt::format("this is no shard of a spread; its first cell must be '{}'", kMark));
      stop();
    }
    read_head(rows[0]);
    read_columns(rows);
    table_.nominal = numbers_of(rows[5], "nominal");
    for (std::size_t i = kHeadRows; i < rows.size(); ++i) {
      if (!core::is_blank(rows[i])) {
        read_draw(rows[i]);
      }
    }
    stop();
    return std::move(table_);
  }

 private:
  void fault(const CsvCell& cell, std::string message) {
    faults_.push_back({cell.where, std::move(message)});
  }
  void stop() {
    if (!faults_.empty()) {
      throw core::InputError(path_, faults_);
    }
  }

  void read_head(const CsvRow& row) {
    table_.rig = row[1].text;
    const auto seed = number_in<std::uint64_t>(row[2]);
    const auto draws = number_in<int>(row[3]);
    if (!seed) {
      fault(row[2], fmt::format("'{}' is no seed; expected a whole number", row[2].text));
    }
    if (!draws || *draws < 1 || *draws > kMostDraws) {
      fault(row[3],
            fmt::format("'{}' is no number of draws from 1 to {}", row[3].text, kMostDraws));
    }
    table_.seed = seed.value_or(0);
    table_.draws = draws.value_or(0);
  }

  void read_columns(const std::vector<CsvRow>& rows) {
    for (std::size_t k = 1; k < 5; ++k) {
      if (rows[k].size() != rows[1].size()) {
        fault(rows[k].empty() ? CsvCell{{}, {static_cast<int>(k) + 1, 1}} : rows[k][0],
              "names, units, parts and limits must have as many cells each");
        stop();
      }
    }
    for (std::size_t c = 1; c < rows[1].size(); ++c) {
      SpreadColumn column{rows[1][c].text, rows[2][c].text, rows[3][c].text, {}};
      if (!rows[4][c].text.empty()) {
        column.limit = number_in<double>(rows[4][c]);
        if (!column.limit) {
          fault(rows[4][c], fmt::format("'{}' is no limit", rows[4][c].text));
        }
      }
      table_.columns.push_back(std::move(column));
    }
  }

  std::vector<double> numbers_of(const CsvRow& row, const char* what) {
    std::vector<double> numbers;
    if (row.size() != table_.columns.size() + 1) {
      fault(row[0], fmt::format("{} has {} readings, expected {}", what, row.size() - 1,
                                table_.columns.size()));
      return numbers;
    }
    for (std::size_t c = 1; c < row.size(); ++c) {
      const auto value = number_in<double>(row[c]);
      if (!value || !std::isfinite(*value)) {
        fault(row[c], fmt::format("'{}' is no reading; expected a number", row[c].text));
      }
      numbers.push_back(value.value_or(0.0));
    }
    return numbers;
  }

  void read_draw(const CsvRow& row) {
    const auto index = number_in<int>(row[0]);
    if (!index || *index < 0 || *index >= table_.draws) {
      fault(row[0], fmt::format("'{}' is no draw from 0 to {}", row[0].text, table_.draws - 1));
      return;
    }
    if (row.size() == 2 && row[1].text == "failed") {
      table_.made.push_back({*index, {}});
      return;
    }
    table_.made.push_back({*index, numbers_of(row, "a draw")});
  }

  std::string path_;
  SpreadTable table_;
  std::vector<core::InputFault> faults_;
};

}  // namespace

std::string spread_file_text(const SpreadTable& table) {
  std::string text = fmt::format("{},{},{},{},\r\n", kMark, table.rig, table.seed, table.draws);
  const auto row = [&](const char* head, auto cell) {
    text += head;
    for (const SpreadColumn& column : table.columns) {
      text += "," + cell(column);
    }
    text += "\r\n";
  };
  row("reading", [](const SpreadColumn& c) { return csv_field(c.name); });
  row("unit", [](const SpreadColumn& c) { return csv_field(c.unit); });
  row("part", [](const SpreadColumn& c) { return csv_field(c.part); });
  row("limit", [](const SpreadColumn& c) { return c.limit ? exact(*c.limit) : std::string(); });
  text += "nominal";
  for (const double value : table.nominal) {
    text += "," + exact(value);
  }
  text += "\r\n";
  for (const SpreadDraw& draw : table.made) {
    text += fmt::format("{}", draw.index);
    if (draw.readings.empty()) {
      text += ",failed";
    }
    for (const double value : draw.readings) {
      text += "," + exact(value);
    }
    text += "\r\n";
  }
  return text;
}

SpreadTable read_spread_file(const std::string& path) { return Reader(path).read(); }

}  // namespace firstglow::sim
