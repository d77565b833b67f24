#include "core/kind_fields.hpp"

#include <utility>

namespace firstglow::core {

using enum Dimension;

FieldSpec needed(std::string_view key, Dimension dimension, std::string_view help,
                 bool zero_allowed) {
  return {key, FieldForm::quantity, true, help, dimension, zero_allowed, {}};
}

FieldSpec optional(std::string_view key, Dimension dimension, std::string_view help,
                   bool zero_allowed) {
  return {key, FieldForm::quantity, false, help, dimension, zero_allowed, {}};
}

FieldSpec choice(std::string_view key, std::vector<std::string> choices, std::string_view help) {
  return {key, FieldForm::choice, false, help, none, false, std::move(choices)};
}

FieldSpec drawn_when() {
  return choice("when", {"always", "tubes_in", "key_up", "key_down"},
                "when it draws; `always` means with all tubes out too; default `tubes_in`");
}

Fields value_fields(Dimension dimension, std::string_view tolerance_help) {
  return {optional("value", dimension, "as marked on the part"),
          optional("measured", dimension,
                   "as read with a meter; used instead of the marked value, with a band of 2 %"),
          {"tolerance", FieldForm::tolerance, false, tolerance_help, none, false, {}}};
}

KindSpec make_kind(std::string_view key, std::string_view help, NodesForm nodes_form,
                   std::vector<std::string> terminals, Fields own) {
  Fields fields{{"kind", FieldForm::kind, true, "what the part is", none, false, {}}};
  if (nodes_form != NodesForm::none) {
    fields.push_back(
        {"nodes", FieldForm::nodes, true, "where its ends are connected", none, false, {}});
  }
  const bool has_value = find_field(own, "measured") != nullptr;
  for (FieldSpec& field : own) {
    fields.push_back(std::move(field));
  }
  if (find_field(fields, "type") == nullptr) {
    fields.push_back(
        {"type", FieldForm::line, false, "type or maker's number; only printed", none, false, {}});
  }
  fields.push_back(
      {"note", FieldForm::note, false, "condition or remark; only printed", none, false, {}});
  return {key, help, nodes_form, std::move(terminals), has_value, std::move(fields)};
}

const std::vector<std::string>& two_ends() {
  static const std::vector<std::string> kEnds{"one end", "other end"};
  return kEnds;
}

const std::vector<std::string>& polarised_ends() {
  static const std::vector<std::string> kEnds{"plus", "minus"};
  return kEnds;
}

}  // namespace firstglow::core
