#include "sim/report/json_tree.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>
#include <utility>

#include "core/position_counter.hpp"
#include "core/written_text.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kDeepest = 16;

/// Walks over the text and says how far the parser has come.
class CountedChar {
 public:
  // names of the standard's iterators
  // NOLINTBEGIN(readability-identifier-naming)
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;
  // NOLINTEND(readability-identifier-naming)

  CountedChar(const char* at, std::size_t* taken) : at_(at), taken_(taken) {}
  reference operator*() const { return *at_; }
  CountedChar& operator++() {
    ++at_;
    ++*taken_;
    return *this;
  }
  bool operator==(const CountedChar& other) const { return at_ == other.at_; }
  bool operator!=(const CountedChar& other) const { return at_ != other.at_; }

 private:
  const char* at_;
  std::size_t* taken_;
};

/// Builds the tree from the parser's events; the place of a value is where it begins.
class TreeMaker : public nlohmann::json_sax<nlohmann::json> {
 public:
  TreeMaker(std::string_view text, const std::size_t& taken)
      : text_(text), taken_(taken), places_(text) {}

  bool null() override { return put(value_of(JsonValue::Kind::null, taken_)); }
  bool boolean(bool flag) override {
    JsonValue value = value_of(JsonValue::Kind::boolean, taken_);
    value.flag = flag;
    return put(std::move(value));
  }
  bool number_integer(number_integer_t number) override {
    return put_number(static_cast<double>(number));
  }
  bool number_unsigned(number_unsigned_t number) override {
    return put_number(static_cast<double>(number));
  }
  bool number_float(number_float_t number, const string_t& /*written*/) override {
    return put_number(number);
  }
  bool string(string_t& text) override {
    JsonValue value = value_of(JsonValue::Kind::text, quote_before(taken_));
    value.text = text;
    return put(std::move(value));
  }
  bool binary(binary_t& /*bytes*/) override { return false; }
  bool start_object(std::size_t /*size*/) override { return open(JsonValue::Kind::object); }
  bool start_array(std::size_t /*size*/) override { return open(JsonValue::Kind::list); }
  bool key(string_t& name) override {
    const JsonValue& object = open_.back();
    if (object.find(name) != nullptr) {
      return refuse(quote_before(taken_),
                    fmt::format("key {} is there twice; remove one", core::in_quotes(name)));
    }
    open_.back().names.push_back(name);
    open_.back().items.emplace_back();
    return true;
  }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool parse_error(std::size_t position, const std::string& /*token*/,
                   const nlohmann::json::exception& /*error*/) override {
    return refuse(position > 0 ? position - 1 : 0,
                  "this is no JSON from here on; expected the file as it was exported; export it "
                  "again");
  }

  JsonValue take() { return std::move(root_); }
  [[nodiscard]] const std::optional<core::InputFault>& fault() const { return fault_; }

 private:
  [[nodiscard]] JsonValue value_of(JsonValue::Kind kind, std::size_t offset) {
    JsonValue value;
    value.kind = kind;
    value.where = places_.at(offset);
    return value;
  }

  /// The opening quote of the text that was just read.
  [[nodiscard]] std::size_t quote_before(std::size_t end) const {
    std::size_t at = end < 2 ? 0 : end - 2;
    while (at > 0 && (text_[at] != '"' || backslashes_before(at) % 2 == 1)) {
      --at;
    }
    return at;
  }
  [[nodiscard]] std::size_t backslashes_before(std::size_t at) const {
    std::size_t count = 0;
    while (count < at && text_[at - count - 1] == '\\') {
      ++count;
    }
    return count;
  }

  /// The parser has read one character past a number.
  bool put_number(double number) {
    std::size_t at = taken_ < 2 ? 0 : taken_ - 2;
    while (at > 0 && std::string_view("0123456789.eE+-").find(text_[at - 1]) != std::string::npos) {
      --at;
    }
    JsonValue value = value_of(JsonValue::Kind::number, at);
    value.number = number;
    return put(std::move(value));
  }

  bool open(JsonValue::Kind kind) {
    if (open_.size() >= kDeepest) {
      return refuse(taken_, fmt::format("lists and objects nest deeper than {}", kDeepest));
    }
    open_.push_back(value_of(kind, taken_ < 1 ? 0 : taken_ - 1));
    return true;
  }
  bool close() {
    JsonValue value = std::move(open_.back());
    open_.pop_back();
    return put(std::move(value));
  }
  bool put(JsonValue value) {
    if (open_.empty()) {
      root_ = std::move(value);
    } else if (open_.back().kind == JsonValue::Kind::list) {
      open_.back().items.push_back(std::move(value));
    } else {
      open_.back().items.back() = std::move(value);
    }
    return true;
  }
  bool refuse(std::size_t offset, std::string message) {
    fault_ = core::InputFault{places_.at(offset), std::move(message)};
    return false;
  }

  std::string_view text_;
  const std::size_t& taken_;
  core::PositionCounter places_;
  std::vector<JsonValue> open_;
  JsonValue root_;
  std::optional<core::InputFault> fault_;
};

}  // namespace

const JsonValue* JsonValue::find(std::string_view key) const {
  const auto name = std::find(names.begin(), names.end(), key);
  return name == names.end() ? nullptr : &items[static_cast<std::size_t>(name - names.begin())];
}

JsonValue read_json_text(std::string_view text, const std::string& file) {
  std::size_t taken = 0;
  TreeMaker maker(text, taken);
  const char* end = text.data() + text.size();
  const bool whole =
      nlohmann::json::sax_parse(CountedChar(text.data(), &taken), CountedChar(end, &taken), &maker);
  if (!whole) {
    throw core::InputError(
        file, {maker.fault().value_or(core::InputFault{{}, "this is no JSON; export it again"})});
  }
  return maker.take();
}

}  // namespace firstglow::sim
