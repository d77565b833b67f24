#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/nearest_word.hpp"
#include "core/part_reader.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

bool takes_list(const KindSpec& kind) {
  return kind.nodes_form == NodesForm::list || kind.nodes_form == NodesForm::either;
}

bool takes_map(const KindSpec& kind) {
  return kind.nodes_form == NodesForm::named || kind.nodes_form == NodesForm::either;
}

void refuse_form(PartContext& context, const RecordNode& value, const FieldSpec& field) {
  context.connected = false;
  std::string found = shape_words(value.shape);
  if (value.shape == RecordShape::list && takes_list(context.kind)) {
    found = fmt::format("a list of {}", value.children.size());
  }
  context.fields.fault("nodes", fmt::format("{} is found; expected {}; say which end is where",
                                            found, form_words(field, &context.kind)));
}

void read_named(PartContext& context, const RecordNode& value, const FieldSpec& field,
                std::vector<NodeIndex>& ends) {
  const std::vector<std::string>& known = context.kind.terminals;
  for (const RecordNode& entry : value.children) {
    if (std::find(known.begin(), known.end(), entry.key) == known.end()) {
      const std::string near = nearest_word(entry.key, known);
      context.fields.fault_at(
          entry.key_where,
          fmt::format("unknown end {}; expected {}; {}", in_quotes(entry.key),
                      fmt::join(known, ", "),
                      near.empty() ? "remove it" : fmt::format("did you mean '{}'?", near)));
    }
  }
  for (std::size_t i = 0; i < known.size(); ++i) {
    const RecordNode* name = value.find(known[i]);
    if (name != nullptr) {
      ends[i] = context.read_node(*name, fmt::format("end '{}'", known[i]));
      continue;
    }
    context.connected = false;
    context.fields.fault("nodes",
                         fmt::format("end '{}' is missing; expected {}; add it, with the"
                                     " node '{}' if nothing is connected",
                                     known[i], form_words(field, &context.kind), kOpenName));
  }
}

}  // namespace

NodeIndex NodeTable::index(const std::string& name, SourcePosition where) {
  if (name == kOpenName) {
    return kOpenNode;
  }
  if (name == nodes_.front().name) {
    return kChassis;
  }
  const auto [found, is_new] = by_name_.emplace(name, static_cast<NodeIndex>(nodes_.size()));
  if (is_new) {
    nodes_.push_back({name, where});
  }
  return found->second;
}

NodeIndex PartContext::read_node(const RecordNode& name, const std::string& what) {
  const std::string text(trimmed(name.text));
  if (name.shape != RecordShape::text || !is_name(text)) {
    connected = false;
    const std::string found =
        name.shape == RecordShape::text ? in_quotes(text) : std::string(shape_words(name.shape));
    fields.fault_at(name.where, fmt::format("{}: {} is no node name; expected {}; rename it", what,
                                            found, name_rule()));
    return kOpenNode;
  }
  return nodes.index(text, name.where);
}

std::vector<NodeIndex> PartContext::read_terminals() {
  std::vector<NodeIndex> ends(kind.terminals.size(), kOpenNode);
  const FieldSpec& field = *find_field(kind.fields, "nodes");
  const RecordNode* value = fields.node("nodes");
  if (value == nullptr) {
    connected = false;  // reported as a missing key
  } else if (value->shape == RecordShape::list && takes_list(kind) &&
             value->children.size() == ends.size()) {
    for (std::size_t i = 0; i < ends.size(); ++i) {
      ends[i] = read_node(value->children[i], "key 'nodes'");
    }
  } else if (value->shape == RecordShape::map && takes_map(kind)) {
    read_named(*this, *value, field, ends);
  } else {
    refuse_form(*this, *value, field);
  }
  return ends;
}

}  // namespace firstglow::core
