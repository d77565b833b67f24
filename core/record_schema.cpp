#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "core/record_fields.hpp"
#include "core/rig_reader.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kNamePattern = "[A-Za-z0-9+_./()-]";

std::string definition_name(Dimension dimension, bool sections) {
  return fmt::format("{}{}", dimension_words(dimension), sections ? "_sections" : "");
}

Json reference(const std::string& name) { return {{"$ref", "#/$defs/" + name}}; }

/// Plain text as editors see it: YAML makes numbers of some texts.
Json text_schema(std::size_t longest) {
  return {{"type", {"string", "number", "boolean"}}, {"maxLength", longest}};
}

Json nodes_schema(const KindSpec& kind) {
  const Json node = reference("node");
  Json list{{"type", "array"},
            {"items", node},
            {"minItems", kind.terminals.size()},
            {"maxItems", kind.terminals.size()}};
  Json properties = Json::object();
  for (const std::string& terminal : kind.terminals) {
    properties[terminal] = node;
  }
  Json named{{"type", "object"},
             {"properties", properties},
             {"required", kind.terminals},
             {"additionalProperties", false}};
  switch (kind.nodes_form) {
    case NodesForm::list:
      return list;
    case NodesForm::either:
      return {{"anyOf", {list, named}}};
    case NodesForm::named:
    case NodesForm::none:
      break;
  }
  return named;
}

Json sections_schema(Dimension dimension) {
  const Json one = reference(definition_name(dimension, true));
  return {{"anyOf", {one, {{"type", "array"}, {"items", one}, {"minItems", 1}}}}};
}

Json count_schema() {
  return {{"anyOf",
           {{{"type", "integer"}, {"minimum", 1}, {"maximum", kLargestCount}},
            {{"type", "string"}, {"pattern", "^(100|[1-9][0-9]?)$"}}}}};
}

Json field_schema(const FieldSpec& field, const KindSpec* kind) {
  switch (field.form) {
    case FieldForm::kind:
      return {{"const", kind->key}};
    case FieldForm::version:
      return {{"enum", {kRecordVersion, fmt::format("{}", kRecordVersion)}}};
    case FieldForm::name:
      return reference("node");
    case FieldForm::line:
      return text_schema(kLongestLine);
    case FieldForm::note:
      return text_schema(kLongestNote);
    case FieldForm::quantity:
      return reference(definition_name(field.dimension, false));
    case FieldForm::sections:
      return sections_schema(field.dimension);
    case FieldForm::tolerance:
      return reference("tolerance");
    case FieldForm::count:
      return count_schema();
    case FieldForm::choice:
      return {{"enum", field.choices}};
    case FieldForm::nodes:
      return nodes_schema(*kind);
    case FieldForm::node_list:
      return {{"type", "array"}, {"items", reference("node")}, {"minItems", 2}};
    case FieldForm::winding:
    case FieldForm::windings:
    case FieldForm::parts:
      break;
  }
  const bool single = field.form == FieldForm::winding;
  return reference(single ? "winding" : std::string(field.key));
}

/// A map with these fields and no others.
Json map_schema(const std::vector<FieldSpec>& fields, const KindSpec* kind) {
  Json properties = Json::object();
  Json required = Json::array();
  for (const FieldSpec& field : fields) {
    Json schema = field_schema(field, kind);
    schema["description"] = field.help;
    properties[std::string(field.key)] = schema;
    if (field.required) {
      required.push_back(field.key);
    }
  }
  Json map{{"type", "object"},
           {"properties", properties},
           {"required", required},
           {"additionalProperties", false}};
  if (kind != nullptr) {
    map["description"] = kind->help;
    if (kind->has_value) {
      map["anyOf"] = {{{"required", {"value"}}}, {{"required", {"measured"}}}};
    }
  }
  return map;
}

/// Any part: the kind chooses the map that must fit.
Json part_schema() {
  Json rules = Json::array();
  for (const KindSpec& kind : kind_specs()) {
    rules.push_back(
        {{"if", {{"properties", {{"kind", {{"const", kind.key}}}}}, {"required", {"kind"}}}},
         {"then", reference(std::string(kind.key))}});
  }
  return {{"type", "object"},
          {"properties", {{"kind", {{"enum", kind_keys()}}}}},
          {"required", {"kind"}},
          {"allOf", rules}};
}

Json named_map_schema(const std::string& refused, const Json& value) {
  return {{"type", "object"},
          {"propertyNames",
           {{"pattern", fmt::format("^(?!{}$){}{{1,{}}}$", refused, kNamePattern, kLongestName)}}},
          {"minProperties", 1},
          {"additionalProperties", value}};
}

void add_value_definitions(Json& definitions) {
  for (const Dimension dimension :
       {Dimension::volts, Dimension::amps, Dimension::ohms, Dimension::farads, Dimension::henries,
        Dimension::watts, Dimension::hertz, Dimension::amps_squared_seconds, Dimension::seconds,
        Dimension::kelvin}) {
    definitions[definition_name(dimension, false)] = {
        {"type", "string"},
        {"description",
         fmt::format("{} such as {}", dimension_words(dimension), dimension_example(dimension))},
        {"pattern", quantity_pattern(dimension)}};
  }
  for (const Dimension dimension : {Dimension::volts, Dimension::ohms}) {
    definitions[definition_name(dimension, true)] = {{"type", "string"},
                                                     {"pattern", sections_pattern(dimension)}};
  }
  definitions["tolerance"] = {{"type", "string"},
                              {"description", "tolerance such as '15 %' or '-20/+80 %'"},
                              {"pattern", tolerance_pattern()}};
  definitions["node"] = {{"type", {"string", "number"}},
                         {"description", "node name: " + name_rule()},
                         {"pattern", fmt::format("^{}{{1,{}}}$", kNamePattern, kLongestName)}};
}

}  // namespace

std::string record_schema_json() {
  Json definitions = Json::object();
  add_value_definitions(definitions);
  definitions["winding"] = map_schema(winding_fields(), nullptr);
  definitions["secondaries"] = named_map_schema("primary", reference("winding"));
  for (const KindSpec& kind : kind_specs()) {
    definitions[std::string(kind.key)] = map_schema(kind.fields, &kind);
  }
  definitions["part"] = part_schema();
  definitions["parts"] = named_map_schema(std::string(kOpenName), reference("part"));
  Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
              {"title", "firstglow record of a rig"}};
  schema.update(map_schema(record_fields(), nullptr));
  schema["$defs"] = definitions;
  return schema.dump(2) + "\n";
}

}  // namespace firstglow::core
