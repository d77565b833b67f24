#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/record_fields.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

std::string nodes_words(const KindSpec* kind) {
  if (kind == nullptr) {
    return "nodes";
  }
  std::string named = "{";
  for (const std::string& terminal : kind->terminals) {
    named += fmt::format("{}{}: NODE", named.size() > 1 ? ", " : "", terminal);
  }
  named += "}";
  switch (kind->nodes_form) {
    case NodesForm::list:
      return "a list of two nodes, [NODE, NODE]";
    case NodesForm::named:
      return fmt::format("a map, {}", named);
    case NodesForm::either:
      return fmt::format("[NODE, NODE] or {}", named);
    case NodesForm::none:
      break;
  }
  return "nothing";
}

void add_rows(std::string& text, const std::vector<FieldSpec>& fields, const KindSpec* kind) {
  text += "| key | needed | written as | meaning |\n|---|---|---|---|\n";
  for (const FieldSpec& field : fields) {
    const bool either =
        kind != nullptr && kind->has_value && (field.key == "value" || field.key == "measured");
    text += fmt::format("| `{}` | {} | {} | {} |\n", field.key,
                        field.required ? "yes" : (either ? "one of the two" : "no"),
                        form_words(field, kind), field.help);
  }
  text += "\n";
}

}  // namespace

std::string form_words(const FieldSpec& field, const KindSpec* kind) {
  switch (field.form) {
    case FieldForm::kind:
      return kind != nullptr ? fmt::format("`{}`", kind->key) : "a kind of part";
    case FieldForm::version:
      return fmt::format("`{}`", kRecordVersion);
    case FieldForm::name:
      return "a node name";
    case FieldForm::line:
      return fmt::format("text, at most {} characters", kLongestLine);
    case FieldForm::note:
      return fmt::format("text, at most {} characters", kLongestNote);
    case FieldForm::quantity:
      return fmt::format("{} such as {}{}", dimension_words(field.dimension),
                         dimension_example(field.dimension),
                         field.zero_allowed ? "; may be zero" : "");
    case FieldForm::sections:
      return fmt::format("{} per section: {}, '2x...' for two like ones, or a list",
                         dimension_words(field.dimension), dimension_example(field.dimension));
    case FieldForm::tolerance:
      return "tolerance such as '15 %', '-20/+80 %' or an IEC 60062 letter";
    case FieldForm::count:
      return "whole number, 1 to 100";
    case FieldForm::choice:
      return fmt::format("`{}`", fmt::join(field.choices, "`, `"));
    case FieldForm::nodes:
      return nodes_words(kind);
    case FieldForm::node_list:
      return "a list of two nodes or more";
    case FieldForm::winding:
      return "a winding";
    case FieldForm::windings:
      return "a map, winding name: winding";
    case FieldForm::parts:
      break;
  }
  return "a map, designator: part";
}

std::string record_fields_markdown() {
  std::string text = "### Top level\n\n";
  add_rows(text, record_fields(), nullptr);
  for (const KindSpec& kind : kind_specs()) {
    text += fmt::format("### `{}`: {}\n\n", kind.key, kind.help);
    add_rows(text, kind.fields, &kind);
    if (kind.key == "power_transformer") {
      text += "Each winding is a map:\n\n";
      add_rows(text, winding_fields(), nullptr);
    }
  }
  return text;
}

}  // namespace firstglow::core
