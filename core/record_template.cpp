#include "core/record_template.hpp"

#include <fmt/format.h>

#include <map>
#include <set>
#include <sstream>
#include <vector>

#include "core/error.hpp"
#include "core/record_entries.hpp"
#include "core/record_fields.hpp"

namespace firstglow::core {
namespace {

constexpr std::size_t kPageWidth = 100;

/// A remark of several lines, each below the page width; further lines stand under the first word.
void add_remark(std::string& text, const std::string& head, const std::string& words) {
  std::string line = "  # " + head + (head.ends_with(' ') ? "" : " ");
  const std::size_t indent = line.size();
  std::istringstream stream(words);
  for (std::string word; stream >> word;) {
    if (line.size() > indent && line.size() + 1 + word.size() > kPageWidth) {
      text += line + '\n';
      line = "  #" + std::string(indent - 3, ' ');
    }
    line += (line.size() > indent ? " " : "") + word;
  }
  text += line + '\n';
}

void add_fields(std::string& text, const std::vector<FieldSpec>& fields, const KindSpec* kind,
                const std::string& indent) {
  for (const FieldSpec& field : fields) {
    if (field.form == FieldForm::kind) {
      continue;
    }
    add_remark(text, fmt::format("{}{:<18}", indent, field.key),
               fmt::format("{}{}; {}", field.required ? "(needed) " : "", field.help,
                           form_words(field, kind)));
  }
}

std::string legend_of(const KindSpec& kind) {
  std::string text = "\n";
  add_remark(text, fmt::format("{}:", kind.key), std::string(kind.help) + ". Its keys:");
  add_fields(text, kind.fields, &kind, "  ");
  if (kind.key == "power_transformer") {
    add_remark(text, "  each winding:", "");
    add_fields(text, winding_fields(), nullptr, "    ");
  }
  return text;
}

}  // namespace

std::string with_explained_keys(std::string_view record_text) {
  std::vector<InputFault> faults;
  RecordNode record = parse_record(record_text, faults);
  const RecordNode* parts = find_entry(record, "parts");
  FIRSTGLOW_REQUIRE(faults.empty() && parts != nullptr, "a template is a valid record");
  std::map<int, const KindSpec*> legend_at;  // by line, from 1
  std::set<std::string> seen;
  for (const RecordNode& part : parts->children) {
    const KindSpec* kind = find_kind(text_of(part, "kind"));
    FIRSTGLOW_REQUIRE(kind != nullptr, "a template has parts of known kinds");
    if (seen.insert(std::string(kind->key)).second) {
      legend_at[part.key_where.line] = kind;
    }
  }
  std::string text;
  std::istringstream stream{std::string(record_text)};
  int number = 0;
  for (std::string line; std::getline(stream, line);) {
    if (const auto found = legend_at.find(++number); found != legend_at.end()) {
      text += legend_of(*found->second);
    }
    text += line + '\n';
  }
  return text;
}

}  // namespace firstglow::core
