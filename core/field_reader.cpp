#include "core/field_reader.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <utility>

#include "core/nearest_word.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

std::string one_line(std::string_view text) {
  std::string line(trimmed(text));
  for (char& c : line) {
    if (c == '\n' || c == '\r' || c == '\t') {
      c = ' ';
    }
  }
  return line;
}

}  // namespace

const char* shape_words(RecordShape shape) {
  switch (shape) {
    case RecordShape::text:
      return "a text";
    case RecordShape::list:
      return "a list";
    case RecordShape::map:
      return "a map";
    case RecordShape::nothing:
      break;
  }
  return "nothing";
}

FieldReader::FieldReader(const RecordNode& map, const std::vector<FieldSpec>& fields,
                         std::string subject, std::vector<InputFault>& faults)
    : map_(map), fields_(fields), subject_(std::move(subject)), faults_(faults) {
  report_keys();
}

void FieldReader::report_keys() {
  for (const RecordNode& entry : map_.children) {
    if (find_field(fields_, entry.key) != nullptr) {
      continue;
    }
    const std::vector<std::string> known = keys_of(fields_);
    const std::string near = nearest_word(entry.key, known);
    const std::string next = near.empty()
                                 ? std::string("remove it")
                                 : fmt::format("did you mean '{}'? Correct or remove it", near);
    fault_at(entry.key_where, fmt::format("unknown key {}; expected one of {}; {}",
                                          in_quotes(entry.key), fmt::join(known, ", "), next));
  }
  for (const FieldSpec& field : fields_) {
    if (field.required && map_.find(field.key) == nullptr) {
      fault_at(where(field.key), fmt::format("key '{}' is missing; expected {} ({}); add it",
                                             field.key, form_words(field, nullptr), field.help));
    }
  }
}

const FieldSpec& FieldReader::spec(std::string_view key) const {
  const FieldSpec* found = find_field(fields_, key);
  FIRSTGLOW_REQUIRE(found != nullptr, "the reader asks only for keys of the table");
  return *found;
}

SourcePosition FieldReader::where(std::string_view key) const {
  const RecordNode* value = map_.find(key);
  if (value != nullptr) {
    return value->where;
  }
  return map_.key.empty() ? map_.where : map_.key_where;
}

void FieldReader::fault(std::string_view key, const std::string& message) {
  faults_.push_back({where(key), fmt::format("{}, key '{}': {}", subject_, key, message)});
}

void FieldReader::fault_at(SourcePosition where, const std::string& message) {
  faults_.push_back({where, fmt::format("{}: {}", subject_, message)});
}

const RecordNode* FieldReader::node(std::string_view key) {
  (void)spec(key);
  return map_.find(key);
}

std::optional<std::string> FieldReader::scalar(const RecordNode& value, std::string_view key) {
  if (value.shape == RecordShape::text) {
    return value.text;
  }
  faults_.push_back(
      {value.where,
       fmt::format("{}, key '{}': {} is found; expected {}; write it behind the key", subject_, key,
                   shape_words(value.shape), form_words(spec(key), nullptr))});
  return std::nullopt;
}

std::optional<double> FieldReader::number(std::string_view key, Dimension dimension) {
  const FieldSpec& field = spec(key);
  FIRSTGLOW_REQUIRE(field.dimension == dimension, "the reader asks for the table's dimension");
  const RecordNode* value = map_.find(key);
  const auto written = value != nullptr ? scalar(*value, key) : std::nullopt;
  if (!written) {
    return std::nullopt;
  }
  const Written<double> read = read_quantity(*written, dimension, field.zero_allowed);
  if (!read.value) {
    fault(key, read.fault);
  }
  return read.value;
}

std::vector<double> FieldReader::section_numbers(std::string_view key, Dimension dimension) {
  FIRSTGLOW_REQUIRE(spec(key).dimension == dimension, "the reader asks for the table's dimension");
  const RecordNode* value = map_.find(key);
  if (value == nullptr) {
    return {};
  }
  const bool is_list = value->shape == RecordShape::list;
  std::vector<double> all;
  for (const RecordNode& item : is_list ? value->children : std::vector<RecordNode>{*value}) {
    const auto written = scalar(item, key);
    if (!written) {
      return {};
    }
    const auto read = read_sections(*written, dimension);
    if (!read.value) {
      faults_.push_back({item.where, fmt::format("{}, key '{}': {}", subject_, key, read.fault)});
      return {};
    }
    all.insert(all.end(), read.value->begin(), read.value->end());
  }
  return all;
}

std::optional<Tolerance> FieldReader::tolerance(std::string_view key) {
  const RecordNode* value = node(key);
  const auto written = value != nullptr ? scalar(*value, key) : std::nullopt;
  if (!written) {
    return std::nullopt;
  }
  const Written<Tolerance> read = read_tolerance(*written);
  if (!read.value) {
    fault(key, read.fault);
  }
  return read.value;
}

std::optional<int> FieldReader::count(std::string_view key) {
  const RecordNode* value = node(key);
  const auto written = value != nullptr ? scalar(*value, key) : std::nullopt;
  if (!written) {
    return std::nullopt;
  }
  const Written<int> read = read_count(*written, 1, kLargestCount);
  if (!read.value) {
    fault(key, read.fault);
  }
  return read.value;
}

std::optional<std::size_t> FieldReader::choice(std::string_view key) {
  const RecordNode* value = node(key);
  const auto written = value != nullptr ? scalar(*value, key) : std::nullopt;
  if (!written) {
    return std::nullopt;
  }
  const std::vector<std::string>& choices = spec(key).choices;
  for (std::size_t i = 0; i < choices.size(); ++i) {
    if (choices[i] == *written) {
      return i;
    }
  }
  const std::string near = nearest_word(*written, choices);
  fault(key, fmt::format("{} is found; expected one of {}; {}", in_quotes(*written),
                         fmt::join(choices, ", "),
                         near.empty() ? "choose one" : fmt::format("did you mean '{}'?", near)));
  return std::nullopt;
}

std::string FieldReader::text(std::string_view key) {
  const RecordNode* value = node(key);
  const auto written = value != nullptr ? scalar(*value, key) : std::nullopt;
  if (!written) {
    return {};
  }
  std::string line = one_line(*written);
  const FieldForm form = spec(key).form;
  if (form == FieldForm::name && !is_name(line)) {
    fault(key, fmt::format("{} is no name; expected {}; rename it", in_quotes(line), name_rule()));
    return {};
  }
  const std::size_t most = form == FieldForm::note ? kLongestNote : kLongestLine;
  if (count_characters(line) > most) {
    fault(key, fmt::format("the text has {} characters; expected at most {}; shorten it",
                           count_characters(line), most));
    return {};
  }
  return line;
}

}  // namespace firstglow::core
