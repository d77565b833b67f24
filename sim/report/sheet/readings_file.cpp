#include "sim/report/sheet/readings_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "core/csv_cells.hpp"
#include "core/nearest_word.hpp"
#include "core/written_text.hpp"
#include "sim/report/json_tree.hpp"
#include "sim/report/sheet/readings_rows.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kFormat = "firstglow readings";
constexpr double kVersion = 1.0;
const std::vector<std::string> kColumns{"kind", "id", "label", "unit", "reading", "mark", "at"};
constexpr std::string_view kSheetPrefix = "sheet/";

/// The comma-separated form: columns by heading, `id` and `reading` needed.
class CsvReader {
 public:
  CsvReader(std::string_view text, const std::string& file) : file_(file), rows_(faults_) {
    cells_ = core::read_csv_rows(text, faults_);
  }

  ReadingsFile read() {
    if (cells_.empty()) {
      throw core::InputError(file_, {{{1, 1}, "the file is empty; expected an exported sheet"}});
    }
    read_headings();
    if (columns_.contains("id") && columns_.contains("reading")) {
      for (std::size_t i = 1; i < cells_.size(); ++i) {
        if (!core::is_blank(cells_[i])) {
          read_row(cells_[i]);
        }
      }
    }
    return rows_.take(file_);
  }

 private:
  void read_headings() {
    const core::CsvRow& head = cells_.front();
    for (std::size_t i = 0; i < head.size(); ++i) {
      const std::string& name = head[i].text;
      if (std::find(kColumns.begin(), kColumns.end(), name) == kColumns.end()) {
        const std::string near = core::nearest_word(name, kColumns);
        rows_.fault(
            head[i].where,
            fmt::format(
                "heading {} is no column of readings; expected id, reading, and if wanted "
                "kind, label, unit, mark, at; {}",
                core::in_quotes(name),
                near.empty() ? "rename or remove it" : fmt::format("did you mean '{}'?", near)));
      } else if (!columns_.emplace(name, i).second) {
        rows_.fault(head[i].where, fmt::format("column '{}' is there twice; remove one", name));
      }
    }
    for (const char* needed : {"id", "reading"}) {
      if (!columns_.contains(needed)) {
        rows_.fault({1, 1}, fmt::format("no column '{}'; add it", needed));
      }
    }
  }

  /// Spreadsheets are kept from taking text for a formula by a ' in front; it is no part of it.
  [[nodiscard]] std::string cell(const core::CsvRow& row, const char* column) const {
    const auto found = columns_.find(column);
    if (found == columns_.end() || found->second >= row.size()) {
      return {};
    }
    const std::string& text = row[found->second].text;
    const bool marked = text.size() > 1 && text[0] == '\'' &&
                        std::string_view("=+-@").find(text[1]) != std::string_view::npos;
    return marked ? text.substr(1) : text;
  }

  void read_row(const core::CsvRow& row) {
    const core::SourcePosition where = row.front().where;
    if (row.size() > cells_.front().size()) {
      rows_.fault(where, fmt::format("{} cells under {} headings; expected as many; put a reading "
                                     "with a decimal comma in quotes",
                                     row.size(), cells_.front().size()));
      return;
    }
    const std::string id = cell(row, "id");
    if (id.starts_with(kSheetPrefix)) {
      rows_.add_fact(std::string_view(id).substr(kSheetPrefix.size()), cell(row, "reading"), where);
      return;
    }
    WrittenEntry entry;
    entry.kind = rows_.kind_of(cell(row, "kind"), where);
    entry.id = id;
    entry.label = cell(row, "label");
    entry.unit = cell(row, "unit");
    entry.written = cell(row, "reading");
    entry.mark = cell(row, "mark");
    entry.where = where;
    rows_.add(std::move(entry));
  }

  std::string file_;
  std::vector<core::InputFault> faults_;
  ReadingsRows rows_;
  std::vector<core::CsvRow> cells_;
  std::map<std::string, std::size_t, std::less<>> columns_;
};

/// The JSON form.
class JsonReader {
 public:
  JsonReader(std::string_view text, const std::string& file)
      : file_(file), rows_(faults_), root_(read_json_text(text, file)) {}

  ReadingsFile read() {
    const JsonValue* format = root_.find("format");
    const JsonValue* version = root_.find("version");
    if (format == nullptr || format->text != kFormat || version == nullptr ||
        version->number != kVersion) {
      throw core::InputError(
          file_, {{format == nullptr ? root_.where : format->where,
                   fmt::format("this holds no readings; expected \"format\": \"{}\" and "
                               "\"version\": {:g}; give the file that the sheet exported",
                               kFormat, kVersion)}});
    }
    if (const JsonValue* sheet = root_.find("sheet")) {
      read_sheet(*sheet);
    }
    read_list("readings", EntryKind::reading);
    read_list("ticks", EntryKind::tick);
    read_list("words", EntryKind::words);
    read_list("without_place", std::nullopt);
    return rows_.take(file_);
  }

 private:
  std::string text_of(const JsonValue& object, const char* key, bool needed) {
    const JsonValue* value = object.find(key);
    if (value == nullptr || (value->kind == JsonValue::Kind::null && !needed)) {
      if (needed) {
        rows_.fault(object.where, fmt::format("'{}' is missing; add it", key));
      }
      return {};
    }
    if (value->kind != JsonValue::Kind::text) {
      rows_.fault(value->where, fmt::format("'{}' is no text; put it in quotes", key));
    }
    return value->text;
  }

  void read_list(const char* name, std::optional<EntryKind> kind) {
    const JsonValue* list = root_.find(name);
    if (list == nullptr) {
      return;
    }
    if (list->kind != JsonValue::Kind::list) {
      rows_.fault(list->where, fmt::format("'{}' is no list; expected [...]", name));
      return;
    }
    for (const JsonValue& row : list->items) {
      if (row.kind != JsonValue::Kind::object) {
        rows_.fault(row.where,
                    fmt::format("an entry of '{}' is no object; expected {{...}}", name));
        continue;
      }
      WrittenEntry entry;
      entry.where = row.where;
      entry.kind = kind ? *kind : rows_.kind_of(text_of(row, "was", false), row.where);
      entry.id = text_of(row, "id", true);
      entry.written = text_of(row, "written", true);
      entry.label = text_of(row, "label", false);
      entry.unit = text_of(row, "unit", false);
      entry.mark = text_of(row, "mark", false);
      if (row.find("id") != nullptr) {
        rows_.add(std::move(entry));
      }
    }
  }

  /// Lists and numbers of the sheet as the words they are in the other form.
  void read_sheet(const JsonValue& sheet) {
    if (sheet.kind != JsonValue::Kind::object) {
      rows_.fault(sheet.where, "'sheet' is no object; expected {...}");
      return;
    }
    for (const char* key : {"rig", "record", "date"}) {
      rows_.add_fact(key, text_of(sheet, key, true), sheet.where);
    }
    add_numbers(sheet, "steps_v_rms", "steps");
    add_words(sheet, "stages", "stages");
    add_numbers(sheet, "lamp_w", "lamp-W");
    add_numbers(sheet, "lamp_v_rms", "lamp-V");
    if (const JsonValue* without = sheet.find("without_lamp")) {
      if (without->kind != JsonValue::Kind::boolean) {
        rows_.fault(without->where, "'without_lamp' is neither true nor false");
      }
      rows_.add_fact("without-lamp", without->flag ? "yes" : "no", without->where);
    }
  }

  void add_numbers(const JsonValue& sheet, const char* key, const char* fact) {
    const JsonValue* value = sheet.find(key);
    if (value == nullptr || value->kind == JsonValue::Kind::null) {
      return;
    }
    const std::vector<JsonValue> one{*value};
    std::string words;
    for (const JsonValue& item : value->kind == JsonValue::Kind::list ? value->items : one) {
      if (item.kind != JsonValue::Kind::number) {
        rows_.fault(item.where, fmt::format("'{}' holds something that is no number", key));
        return;
      }
      words += fmt::format("{}{}", words.empty() ? "" : " ", item.number);
    }
    rows_.add_fact(fact, words, value->where);
  }

  void add_words(const JsonValue& sheet, const char* key, const char* fact) {
    const JsonValue* value = sheet.find(key);
    if (value == nullptr || value->kind == JsonValue::Kind::null) {
      return;
    }
    std::string words;
    for (const JsonValue& item : value->items) {
      words += (words.empty() ? "" : " ") + item.text;
    }
    rows_.add_fact(fact, words, value->where);
  }

  std::string file_;
  std::vector<core::InputFault> faults_;
  ReadingsRows rows_;
  JsonValue root_;
};

}  // namespace

const WrittenEntry* ReadingsFile::find(std::string_view id) const {
  const auto found = std::find_if(entries.begin(), entries.end(),
                                  [id](const WrittenEntry& entry) { return entry.id == id; });
  return found == entries.end() ? nullptr : &*found;
}

ReadingsFile read_readings_text(std::string_view text, const std::string& file) {
  core::check_plain_text(text, kLargestReadingsFile, file);
  const std::string_view body = core::trimmed(text);
  const bool json = body.starts_with('{') || body.starts_with('[');
  return json ? JsonReader(text, file).read() : CsvReader(text, file).read();
}

ReadingsFile read_readings_file(const std::string& path) {
  return read_readings_text(
      core::read_text_file(path, kLargestReadingsFile, "readings exported from a sheet"), path);
}

}  // namespace firstglow::sim
