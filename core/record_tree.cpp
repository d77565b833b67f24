#include "core/record_tree.hpp"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <map>
#include <optional>
#include <sstream>
#include <utility>

#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

/// The text cannot be read further.
struct Refusal {
  SourcePosition where;
  std::string message;
};

/// Turns yaml-cpp's byte columns into character columns; marks mostly come in rising order, so the
/// last answer is kept and long lines cost linear time.
class MarkPlaces {
 public:
  explicit MarkPlaces(std::string_view text) : text_(text) {}

  SourcePosition place(const YAML::Mark& mark) {
    if (mark.is_null() || mark.pos < 0) {
      return {};
    }
    const std::size_t offset = std::min(static_cast<std::size_t>(mark.pos), text_.size());
    if (offset < offset_) {
      offset_ = 0;
      last_ = {1, 1};
    }
    const SourcePosition step = position_at(text_.substr(offset_), offset - offset_);
    last_ = step.line == 1 ? SourcePosition{last_.line, last_.column + step.column - 1}
                           : SourcePosition{last_.line + step.line - 1, step.column};
    offset_ = offset;
    return last_;
  }

 private:
  std::string_view text_;
  std::size_t offset_ = 0;
  SourcePosition last_{1, 1};
};

/// Does a text that starts with a quote hold the other one? True for texts without quotes.
bool is_quote_closed(std::string_view text) {
  if (text.empty() || (text[0] != '"' && text[0] != '\'')) {
    return true;
  }
  const char quote = text[0];
  for (std::size_t at = 1; at < text.size(); ++at) {
    if (quote == '"' && text[at] == '\\') {
      ++at;
    } else if (text[at] == quote) {
      if (quote == '"' || at + 1 == text.size() || text[at + 1] != quote) {
        return true;
      }
      ++at;
    }
  }
  return false;
}

class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, std::vector<InputFault>& faults)
      : text_(text), places_(text), faults_(faults) {}

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ > 1) {
      refuse(mark,
             "a second YAML document starts here; expected one record per file; remove '---'"
             " and what follows, or put it into a file of its own");
    }
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    refuse_anchor(mark, anchor);
    if (expects_key()) {
      refuse(mark, "a key is empty; expected a text before ':'; write the key");
    }
    RecordNode& node = add(mark, RecordShape::nothing);
    if (!node.key.empty()) {
      node.where = node.key_where;
    }
  }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    refuse(mark,
           "a YAML alias ('*name') is found; expected the value itself; aliases are not"
           " taken, write the value out");
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    refuse_tag(mark, tag);
    refuse_anchor(mark, anchor);
    refuse_open_quote(mark);
    if (const auto bad = find_bad_character(value)) {
      refuse(mark, fmt::format("text {} holds {}; expected printable text; remove the escape",
                               in_quotes(value), bad->what));
    }
    if (expects_key()) {
      start_entry(mark, value);
    } else {
      add(mark, RecordShape::text).text = value;
    }
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, RecordShape::list);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, RecordShape::map);
  }
  void OnMapEnd() override { close(); }

  RecordNode take_root() { return std::move(root_); }
  SourcePosition place(const YAML::Mark& mark) { return places_.place(mark); }

 private:
  struct Level {
    RecordNode* node;
    std::map<std::string, int> key_lines;  ///< line of the first use of each key
    bool key_is_open = false;
    std::string key;
    SourcePosition key_where;
  };

  [[noreturn]] void refuse(const YAML::Mark& mark, std::string message) {
    throw Refusal{places_.place(mark), std::move(message)};
  }
  void refuse_anchor(const YAML::Mark& mark, YAML::anchor_t anchor) {
    if (anchor != YAML::NullAnchor) {
      refuse(mark,
             "a YAML anchor ('&name') is found; expected a plain value; anchors are not"
             " taken, remove it and write values out");
    }
  }
  void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
    if (!tag.empty() && tag != "?" && tag != "!") {
      refuse(mark, fmt::format("YAML tag {} is found; expected a plain value; remove the tag",
                               in_quotes(tag)));
    }
  }
  /// yaml-cpp takes a quote that is never closed when the file ends in a line end; all that
  /// follows it, parts included, would then be part of one text.
  void refuse_open_quote(const YAML::Mark& mark) {
    if (mark.pos >= 0 && !is_quote_closed(text_.substr(static_cast<std::size_t>(mark.pos)))) {
      refuse(mark,
             "a quote is opened here and never closed; expected a text in two quotes; close it");
    }
  }
  [[nodiscard]] bool expects_key() const {
    return !levels_.empty() && levels_.back().node->shape == RecordShape::map &&
           !levels_.back().key_is_open;
  }
  void count(const YAML::Mark& mark) {
    if (++elements_ > kMostRecordElements) {
      refuse(mark, fmt::format("the record has more than {} keys and values; expected fewer; split"
                               " it into several records",
                               kMostRecordElements));
    }
  }
  void start_entry(const YAML::Mark& mark, const std::string& key) {
    count(mark);
    Level& level = levels_.back();
    level.key_is_open = true;
    level.key = key;
    level.key_where = places_.place(mark);
    const auto [first, is_new] = level.key_lines.emplace(key, level.key_where.line);
    if (!is_new) {
      faults_.push_back(
          {level.key_where, fmt::format("{} is given twice, first in line {}; expected each"
                                        " designator and each key once; rename or remove one",
                                        in_quotes(key), first->second)});
    }
  }
  RecordNode& add(const YAML::Mark& mark, RecordShape shape) {
    count(mark);
    RecordNode* node = &root_;
    if (!levels_.empty()) {
      Level& level = levels_.back();
      node = &level.node->children.emplace_back();
      node->key = std::exchange(level.key, {});
      node->key_where = level.key_where;
      level.key_is_open = false;
    }
    node->shape = shape;
    node->where = places_.place(mark);
    return *node;
  }
  void open(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
            RecordShape shape) {
    refuse_tag(mark, tag);
    refuse_anchor(mark, anchor);
    if (expects_key()) {
      refuse(mark, "a key is a map or a list; expected a text before ':'; write a text key");
    }
    if (levels_.size() >= kDeepestRecord) {
      refuse(mark, fmt::format("maps and lists stand more than {} deep inside each other; a record"
                               " needs 6; remove the inner ones",
                               kDeepestRecord));
    }
    RecordNode& node = add(mark, shape);
    levels_.push_back(Level{&node, {}, false, {}, {}});
  }
  void close() { levels_.pop_back(); }

  std::string_view text_;
  MarkPlaces places_;
  std::vector<InputFault>& faults_;
  RecordNode root_;
  std::vector<Level> levels_;
  int documents_ = 0;
  int elements_ = 0;
};

/// Bytes that may not reach the YAML parser at all.
std::optional<InputFault> refuse_bytes(std::string_view text) {
  if (const auto bad = find_bad_character(text)) {
    return InputFault{position_at(text, bad->offset),
                      fmt::format("{} is found; expected UTF-8 text without control characters; "
                                  "remove it, or save the file as UTF-8 text",
                                  bad->what)};
  }
  return std::nullopt;
}

std::string yaml_message(const std::string& message) {
  return fmt::format(
      "not readable as YAML: {}; expected 'key: value' lines with equal indents made of blanks; "
      "compare with the example in docs/records.md",
      message);
}

}  // namespace

const RecordNode* RecordNode::find(std::string_view wanted) const {
  for (const RecordNode& child : children) {
    if (shape == RecordShape::map && child.key == wanted) {
      return &child;
    }
  }
  return nullptr;
}

RecordNode parse_record(std::string_view text, std::vector<InputFault>& faults) {
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.substr(0, kByteOrderMark.size()) == kByteOrderMark) {
    text.remove_prefix(kByteOrderMark.size());
  }
  if (const auto fault = refuse_bytes(text)) {
    faults.push_back(*fault);
    return {};
  }
  TreeBuilder builder(text, faults);
  try {
    std::istringstream stream{std::string(text)};
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(builder)) {
    }
    return builder.take_root();
  } catch (const Refusal& refusal) {
    faults.push_back({refusal.where, refusal.message});
  } catch (const YAML::Exception& error) {
    faults.push_back({builder.place(error.mark), yaml_message(error.msg)});
  } catch (const std::exception& error) {
    faults.push_back({{}, yaml_message(error.what())});
  }
  return {};
}

}  // namespace firstglow::core
