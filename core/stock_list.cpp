#include "core/stock_list.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

#include "core/csv_cells.hpp"
#include "core/nearest_word.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kLargestMm = 2000.0;

const std::vector<std::string>& columns() {
  static const std::vector<std::string> kColumns{"name",        "type",    "value", "tolerance",
                                                 "volts",       "watts",   "amps",  "size",
                                                 "surge_volts", "quantity"};
  return kColumns;
}

/// Column index by heading.
std::map<std::string, std::size_t> read_headings(const CsvRow& row,
                                                 std::vector<InputFault>& faults) {
  std::map<std::string, std::size_t> found;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const std::string& heading = row[i].text;
    if (std::find(columns().begin(), columns().end(), heading) == columns().end()) {
      const std::string near = nearest_word(heading, columns());
      faults.push_back(
          {row[i].where,
           fmt::format("unknown heading {}; expected one of {}; {}", in_quotes(heading),
                       fmt::join(columns(), ", "),
                       near.empty() ? "rename it" : fmt::format("did you mean '{}'?", near))});
    } else if (!found.emplace(heading, i).second) {
      faults.push_back(
          {row[i].where, fmt::format("heading '{}' is there twice; remove one", heading)});
    }
  }
  if (!found.contains("name")) {
    faults.push_back({{1, 1}, "no column 'name'; expected a heading line that holds it; add it"});
  }
  return found;
}

/// Reads the cells of one row under their headings.
class RowReader {
 public:
  RowReader(const CsvRow& cells, const std::map<std::string, std::size_t>& headings,
            std::vector<InputFault>& faults)
      : cells_(cells), headings_(headings), faults_(faults) {}

  StockPart read() {
    StockPart part;
    part.where = cells_.front().where;
    part.name = text("name");
    part.type = text("type");
    part.value = text("value");
    part.tolerance = text("tolerance");
    part.volts = text("volts");
    part.surge_volts = text("surge_volts");
    part.watts = text("watts");
    part.amps = text("amps");
    if (part.name.empty()) {
      faults_.push_back({part.where, "a row without a name; expected the label of the drawer"});
    }
    if (const CsvCell* size = cell("size"); size != nullptr && !size->text.empty()) {
      part.size = read_body_size(size->text);
      if (!part.size) {
        faults_.push_back({size->where, fmt::format("{} is no size; expected diameter x length or "
                                                    "three edges such as '25x40 mm'",
                                                    in_quotes(size->text))});
      }
    }
    read_quantity(part);
    return part;
  }

 private:
  const CsvCell* cell(const std::string& heading) const {
    const auto found = headings_.find(heading);
    return found == headings_.end() || found->second >= cells_.size() ? nullptr
                                                                      : &cells_[found->second];
  }
  [[nodiscard]] std::string text(const std::string& heading) const {
    const CsvCell* found = cell(heading);
    return found == nullptr ? "" : found->text;
  }
  void read_quantity(StockPart& part) {
    const CsvCell* written = cell("quantity");
    if (written == nullptr || written->text.empty()) {
      return;
    }
    const char* end = written->text.data() + written->text.size();
    const auto read = std::from_chars(written->text.data(), end, part.quantity);
    if (read.ec != std::errc() || read.ptr != end || part.quantity < 0) {
      faults_.push_back({written->where, fmt::format("{} is no quantity; expected a whole number, "
                                                     "0 or more",
                                                     in_quotes(written->text))});
    }
  }

  const CsvRow& cells_;
  const std::map<std::string, std::size_t>& headings_;
  std::vector<InputFault>& faults_;
};

}  // namespace

std::optional<BodySize> read_body_size(std::string_view text) {
  std::string_view rest = trimmed(text);
  double unit_mm = 1.0;
  if (rest.ends_with("mm")) {
    rest.remove_suffix(2);
  } else if (rest.ends_with("in")) {
    rest.remove_suffix(2);
    unit_mm = kMmPerInch;
  } else {
    return std::nullopt;
  }
  BodySize size;
  for (bool more = true; more;) {
    const std::size_t cross = rest.find('x');
    more = cross != std::string_view::npos;
    const std::string_view number = trimmed(rest.substr(0, cross));
    double value = 0.0;
    const auto read = std::from_chars(number.data(), number.data() + number.size(), value,
                                      std::chars_format::fixed);
    if (read.ec != std::errc() || read.ptr != number.data() + number.size() || !(value > 0.0) ||
        value * unit_mm > kLargestMm) {
      return std::nullopt;
    }
    size.mm.push_back(value * unit_mm);
    rest = more ? rest.substr(cross + 1) : rest;
  }
  return size.mm.size() == 2 || size.mm.size() == 3 ? std::optional(size) : std::nullopt;
}

bool fits_into(const BodySize& body, const BodySize& hole) {
  // A round part of diameter d and length l fills a box d x d x l.
  const auto edges = [](const BodySize& size) {
    std::vector<double> all = size.mm;
    if (all.size() == 2) {
      all.push_back(all.front());
    }
    std::sort(all.begin(), all.end());
    return all;
  };
  const std::vector<double> ours = edges(body);
  const std::vector<double> theirs = edges(hole);
  return std::equal(ours.begin(), ours.end(), theirs.begin(), std::less_equal<>());
}

std::vector<StockPart> read_stock_text(std::string_view text, const std::string& file) {
  std::vector<InputFault> faults;
  check_plain_text(text, kLargestStockFile, file);
  const std::vector<CsvRow> rows = read_csv_rows(text, faults);
  std::vector<StockPart> stock;
  if (rows.empty()) {
    throw InputError(file, {{{1, 1}, "the file is empty; expected a heading line and rows"}});
  }
  const auto headings = read_headings(rows.front(), faults);
  for (std::size_t i = 1; i < rows.size() && headings.contains("name"); ++i) {
    if (is_blank(rows[i])) {
      continue;
    }
    if (rows[i].size() > rows.front().size()) {
      faults.push_back(
          {rows[i].front().where,
           fmt::format("{} cells under {} headings; put cells with a comma into quotes",
                       rows[i].size(), rows.front().size())});
    }
    stock.push_back(RowReader(rows[i], headings, faults).read());
  }
  if (stock.size() > kMostStockRows) {
    faults.push_back({{},
                      fmt::format("{} rows; expected at most {}; leave out what does not come "
                                  "into question",
                                  stock.size(), kMostStockRows)});
  }
  if (!faults.empty()) {
    throw InputError(file, std::move(faults));
  }
  return stock;
}

std::vector<StockPart> read_stock_file(const std::string& path) {
  return read_stock_text(read_text_file(path, kLargestStockFile, "a stock list"), path);
}

}  // namespace firstglow::core
