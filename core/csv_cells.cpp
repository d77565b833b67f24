#include "core/csv_cells.hpp"

#include <fmt/format.h>

#include <fstream>

#include "core/position_counter.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

class CellReader {
 public:
  CellReader(std::string_view text, std::vector<InputFault>& faults)
      : text_(text), faults_(faults), places_(text) {}

  std::vector<CsvRow> rows() {
    std::vector<CsvRow> rows;
    while (at_ < text_.size()) {
      rows.push_back(row());
    }
    return rows;
  }

 private:
  CsvRow row() {
    CsvRow cells;
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

  CsvCell cell() {
    CsvCell cell;
    cell.where = places_.at(at_);
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
  PositionCounter places_;
  std::size_t at_ = 0;
};

}  // namespace

std::vector<CsvRow> read_csv_rows(std::string_view text, std::vector<InputFault>& faults) {
  return CellReader(text, faults).rows();
}

bool is_blank(const CsvRow& row) { return row.size() == 1 && row.front().text.empty(); }

void check_plain_text(std::string_view text, std::size_t most_bytes, const std::string& file) {
  if (text.size() > most_bytes) {
    throw InputError(file, {{{},
                             fmt::format("the file has more than {} bytes; expected fewer; "
                                         "split it",
                                         most_bytes)}});
  }
  if (const auto bad = find_bad_character(text)) {
    throw InputError(file, {{position_at(text, bad->offset),
                             fmt::format("{} is found; expected plain UTF-8 text", bad->what)}});
  }
}

std::string read_text_file(const std::string& path, std::size_t most_bytes, std::string_view what) {
  std::ifstream stream(path, std::ios::binary);
  std::string text(most_bytes + 1, '\0');
  if (stream) {
    stream.read(text.data(), static_cast<std::streamsize>(text.size()));
    text.resize(static_cast<std::size_t>(stream.gcount()));
  }
  if (!stream.is_open() || stream.bad()) {
    throw InputError(path, {{{},
                             fmt::format("the file cannot be read; expected {}; check its name "
                                         "and permissions",
                                         what)}});
  }
  check_plain_text(text, most_bytes, path);
  return text;
}

}  // namespace firstglow::core
