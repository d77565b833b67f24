#include "core/forming_log.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>

#include "core/csv_cells.hpp"
#include "core/nearest_word.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

struct UnitOf {
  std::string_view column, unit;
  double factor, offset;
};

constexpr std::array kUnits{UnitOf{"time", "s", 1.0, 0.0},      UnitOf{"time", "min", 60.0, 0.0},
                            UnitOf{"time", "h", 3600.0, 0.0},   UnitOf{"current", "uA", 1e-6, 0.0},
                            UnitOf{"current", "mA", 1e-3, 0.0}, UnitOf{"current", "A", 1.0, 0.0},
                            UnitOf{"supply", "V", 1.0, 0.0},    UnitOf{"supply", "kV", 1e3, 0.0},
                            UnitOf{"can", "C", 1.0, 273.15}};

/// Largest values taken: a year, 100 A, 100 kV, 300 C.
constexpr double kLongestSeconds = 365.0 * 86400.0;
constexpr double kMostAmps = 100.0;
constexpr double kMostVolts = 1e5;
constexpr double kMostKelvin = 573.15;
constexpr double kLeastKelvin = 223.15;

struct ColumnFound {
  std::size_t index = 0;
  UnitOf unit;
};
using Columns = std::map<std::string, ColumnFound, std::less<>>;

constexpr std::string_view kHeadingForm =
    "expected 'time [min]', 'current [mA]', and if read 'supply [V]' and 'can [C]' (time in s, min "
    "or h; current in uA, mA or A)";

/// The column of a heading such as "time [min]"; empty, with a fault, when it is none.
std::optional<UnitOf> read_heading(const CsvCell& cell, std::vector<InputFault>& faults) {
  const std::size_t bracket = cell.text.find('[');
  const std::string name(trimmed(std::string_view(cell.text).substr(0, bracket)));
  std::string unit;
  if (bracket != std::string::npos && cell.text.back() == ']') {
    unit = trimmed(std::string_view(cell.text).substr(bracket + 1, cell.text.size() - bracket - 2));
  }
  for (const UnitOf& known : kUnits) {
    if (known.column == name && known.unit == unit) {
      return known;
    }
  }
  const std::vector<std::string> names{"time", "current", "supply", "can"};
  const std::string near = nearest_word(name, names);
  const bool is_name = std::find(names.begin(), names.end(), name) != names.end();
  faults.push_back(
      {cell.where,
       fmt::format("heading {} {}; {}; {}", in_quotes(cell.text),
                   is_name ? "has no unit of its column in brackets" : "is no column of a log",
                   kHeadingForm,
                   is_name        ? "write the unit"
                   : near.empty() ? "rename or remove it"
                                  : fmt::format("did you mean '{}'?", near))});
  return std::nullopt;
}

Columns read_headings(const CsvRow& row, std::vector<InputFault>& faults) {
  Columns found;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const std::optional<UnitOf> unit = read_heading(row[i], faults);
    if (unit && !found.emplace(std::string(unit->column), ColumnFound{i, *unit}).second) {
      faults.push_back(
          {row[i].where, fmt::format("column '{}' is there twice; remove one", unit->column)});
    }
  }
  for (const std::string_view needed : {"time", "current"}) {
    if (found.find(needed) == found.end() && faults.empty()) {
      faults.push_back({{1, 1}, fmt::format("no column '{}'; {}; add it", needed, kHeadingForm)});
    }
  }
  return found;
}

class RowReader {
 public:
  RowReader(const CsvRow& row, const Columns& columns, std::vector<InputFault>& faults)
      : row_(row), columns_(columns), faults_(faults) {}

  FormingReading read() {
    FormingReading reading;
    reading.where = row_.front().where;
    reading.time = Seconds(needed("time", 0.0, kLongestSeconds).value_or(0.0));
    reading.current = Amps(needed("current", 1e-9, kMostAmps).value_or(0.0));
    if (const auto volts = number("supply", 1e-3, kMostVolts)) {
      reading.supply = Volts(*volts);
    }
    if (const auto kelvin = number("can", kLeastKelvin, kMostKelvin)) {
      reading.can = Kelvin(*kelvin);
    }
    return reading;
  }

 private:
  std::optional<double> needed(std::string_view column, double least, double most) {
    const auto found = columns_.find(column);
    if (found != columns_.end() &&
        (found->second.index >= row_.size() || row_[found->second.index].text.empty())) {
      faults_.push_back({row_.front().where, fmt::format("a reading without {}; expected a number; "
                                                         "add it or remove the row",
                                                         column)});
      return std::nullopt;
    }
    return number(column, least, most);
  }

  std::optional<double> number(std::string_view column, double least, double most) {
    const auto found = columns_.find(column);
    if (found == columns_.end() || found->second.index >= row_.size() ||
        row_[found->second.index].text.empty()) {
      return std::nullopt;
    }
    const CsvCell& cell = row_[found->second.index];
    const UnitOf& unit = found->second.unit;
    double value = 0.0;
    const char* end = cell.text.data() + cell.text.size();
    const auto read = std::from_chars(cell.text.data(), end, value, std::chars_format::fixed);
    const double si = value * unit.factor + unit.offset;
    if (read.ec != std::errc() || read.ptr != end || !(si >= least && si <= most)) {
      faults_.push_back(
          {cell.where,
           fmt::format("{} is no {} in {}; expected a decimal number from {:g} to {:g}; "
                       "correct it",
                       in_quotes(cell.text), column, unit.unit, (least - unit.offset) / unit.factor,
                       (most - unit.offset) / unit.factor)});
      return std::nullopt;
    }
    return si;
  }

  const CsvRow& row_;
  const Columns& columns_;
  std::vector<InputFault>& faults_;
};

void check_order(const std::vector<FormingReading>& readings, std::vector<InputFault>& faults) {
  for (std::size_t i = 1; i < readings.size(); ++i) {
    if (readings[i].time <= readings[i - 1].time) {
      faults.push_back({readings[i].where,
                        fmt::format("the reading at {:g} s is not later than the one before it "
                                    "({:g} s); expected rising times; put them in order",
                                    readings[i].time.si(), readings[i - 1].time.si())});
    }
  }
  if (readings.size() > kMostFormingReadings) {
    faults.push_back({{},
                      fmt::format("{} readings; expected at most {}; thin them out",
                                  readings.size(), kMostFormingReadings)});
  }
}

}  // namespace

std::vector<FormingReading> read_forming_text(std::string_view text, const std::string& file) {
  check_plain_text(text, kLargestFormingLog, file);
  std::vector<InputFault> faults;
  const std::vector<CsvRow> rows = read_csv_rows(text, faults);
  if (rows.empty()) {
    throw InputError(file, {{{1, 1}, "the file is empty; expected a heading line and readings"}});
  }
  const Columns columns = read_headings(rows.front(), faults);
  const bool readable = columns.contains("time") && columns.contains("current");
  std::vector<FormingReading> readings;
  for (std::size_t i = 1; i < rows.size() && readable; ++i) {
    if (is_blank(rows[i])) {
      continue;
    }
    if (rows[i].size() > rows.front().size()) {
      faults.push_back({rows[i].front().where,
                        fmt::format("{} cells under {} headings; expected as many; write decimals "
                                    "with a point",
                                    rows[i].size(), rows.front().size())});
    }
    readings.push_back(RowReader(rows[i], columns, faults).read());
  }
  if (faults.empty()) {
    check_order(readings, faults);
  }
  if (!faults.empty()) {
    throw InputError(file, std::move(faults));
  }
  return readings;
}

std::vector<FormingReading> read_forming_file(const std::string& path) {
  return read_forming_text(read_text_file(path, kLargestFormingLog, "a log of readings"), path);
}

}  // namespace firstglow::core
