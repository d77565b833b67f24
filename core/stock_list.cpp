#include "core/stock_list.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <map>

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

/// One cell with its place.
struct Cell {
  std::string text;
  SourcePosition where;
};

/// Splits RFC 4180 text into rows of cells; quotes may hold commas, line ends and doubled quotes.
class CellReader {
 public:
  CellReader(std::string_view text, std::vector<InputFault>& faults)
      : text_(text), faults_(faults) {}

  std::vector<std::vector<Cell>> rows() {
    std::vector<std::vector<Cell>> rows;
    while (at_ < text_.size()) {
      rows.push_back(row());
    }
    return rows;
  }

 private:
  std::vector<Cell> row() {
    std::vector<Cell> cells;
    for (;;) {
      cells.push_back(cell());
      if (at_ < text_.size() && text_[at_] == ',') {
        ++at_;
        continue;
      }
      if (at_ < text_.size() && text_[at_] == '\r') {
        ++at_;
      }
      if (at_ < text_.size() && text_[at_] == '\n') {
        ++at_;
      }
      return cells;
    }
  }

  Cell cell() {
    Cell cell;
    cell.where = position_at(text_, at_);
    std::string raw;
    if (at_ < text_.size() && text_[at_] == '"') {
      raw = quoted(cell.where);
    }
    while (at_ < text_.size() && text_[at_] != ',' && text_[at_] != '\n' && text_[at_] != '\r') {
      raw += text_[at_++];
    }
    cell.text = trimmed(raw);
    return cell;
  }

  std::string quoted(SourcePosition where) {
    std::string raw;
    for (++at_; at_ < text_.size(); ++at_) {
      if (text_[at_] == '"') {
        ++at_;
        if (at_ >= text_.size() || text_[at_] != '"') {
          return raw;
        }
      }
      raw += text_[at_];
    }
    faults_.push_back({where, "a quote that opens here is never closed; close it"});
    return raw;
  }

  std::string_view text_;
  std::vector<InputFault>& faults_;
  std::size_t at_ = 0;
};

/// Column index by heading.
std::map<std::string, std::size_t> read_headings(const std::vector<Cell>& row,
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
  RowReader(const std::vector<Cell>& cells, const std::map<std::string, std::size_t>& headings,
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
    if (const Cell* size = cell("size"); size != nullptr && !size->text.empty()) {
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
  const Cell* cell(const std::string& heading) const {
    const auto found = headings_.find(heading);
    return found == headings_.end() || found->second >= cells_.size() ? nullptr
                                                                      : &cells_[found->second];
  }
  [[nodiscard]] std::string text(const std::string& heading) const {
    const Cell* found = cell(heading);
    return found == nullptr ? "" : found->text;
  }
  void read_quantity(StockPart& part) {
    const Cell* written = cell("quantity");
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

  const std::vector<Cell>& cells_;
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
  if (text.size() > kLargestStockFile) {
    throw InputError(file, {{{},
                             fmt::format("the file has more than {} bytes; expected fewer; "
                                         "split it",
                                         kLargestStockFile)}});
  }
  if (const auto bad = find_bad_character(text)) {
    throw InputError(file, {{position_at(text, bad->offset),
                             fmt::format("{} is found; expected plain UTF-8 text", bad->what)}});
  }
  const std::vector<std::vector<Cell>> rows = CellReader(text, faults).rows();
  std::vector<StockPart> stock;
  if (rows.empty()) {
    throw InputError(file, {{{1, 1}, "the file is empty; expected a heading line and rows"}});
  }
  const auto headings = read_headings(rows.front(), faults);
  for (std::size_t i = 1; i < rows.size() && headings.contains("name"); ++i) {
    const bool blank = rows[i].size() == 1 && rows[i].front().text.empty();
    if (blank) {
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
  std::ifstream stream(path, std::ios::binary);
  std::string text(kLargestStockFile + 1, '\0');
  if (stream) {
    stream.read(text.data(), static_cast<std::streamsize>(text.size()));
    text.resize(static_cast<std::size_t>(stream.gcount()));
  }
  if (!stream.is_open() || stream.bad()) {
    throw InputError(path, {{{},
                             "the file cannot be read; expected a stock list; check its name "
                             "and permissions"}});
  }
  return read_stock_text(text, path);
}

}  // namespace firstglow::core
