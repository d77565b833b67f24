#include "core/record_entries.hpp"

#include <algorithm>
#include <utility>

#include "core/record_fields.hpp"

namespace firstglow::core {

RecordNode text_entry(std::string_view key, std::string text, SourcePosition where) {
  RecordNode node;
  node.shape = RecordShape::text;
  node.key = key;
  node.text = std::move(text);
  node.where = node.key_where = where;
  return node;
}

RecordNode map_entry(std::string_view key, std::vector<RecordNode> children, SourcePosition where) {
  RecordNode node;
  node.shape = RecordShape::map;
  node.key = key;
  node.children = std::move(children);
  node.where = node.key_where = where;
  return node;
}

RecordNode* find_entry(RecordNode& map, std::string_view key) {
  const auto found = std::find_if(map.children.begin(), map.children.end(),
                                  [key](const RecordNode& child) { return child.key == key; });
  return found == map.children.end() ? nullptr : &*found;
}

RecordNode* find_part(RecordNode& record, std::string_view designator) {
  RecordNode* parts = find_entry(record, "parts");
  RecordNode* part = parts == nullptr ? nullptr : find_entry(*parts, designator);
  return part == nullptr || part->shape != RecordShape::map ? nullptr : part;
}

std::string text_of(const RecordNode& map, std::string_view key) {
  const RecordNode* entry = map.find(key);
  return entry == nullptr ? std::string() : entry->text;
}

std::string node_of(const RecordNode& part, std::string_view terminal) {
  const RecordNode* nodes = part.find("nodes");
  const RecordNode* node = nodes == nullptr ? nullptr : nodes->find(terminal);
  return node == nullptr ? std::string(kOpenName) : node->text;
}

void set_entry(RecordNode& map, RecordNode entry) {
  if (RecordNode* old = find_entry(map, entry.key)) {
    *old = std::move(entry);
  } else {
    map.children.push_back(std::move(entry));
  }
}

}  // namespace firstglow::core
