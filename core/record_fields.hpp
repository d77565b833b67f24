#pragma once
/// @file
/// Which keys may a record hold? The one table behind the reader, its messages, the JSON Schema and
/// the table of docs/records.md.

#include <string>
#include <string_view>
#include <vector>

#include "core/written_value.hpp"

namespace firstglow::core {

/// Version of the format, written as `firstglow: 1` at the top of each record.
inline constexpr int kRecordVersion = 1;
/// The node name for an end left insulated on purpose.
inline constexpr std::string_view kOpenName = "open";
/// Longest note or description, longest name or type [characters].
inline constexpr std::size_t kLongestNote = 1000;
inline constexpr std::size_t kLongestLine = 80;

/// Largest whole number of a field of form `count`.
inline constexpr int kLargestCount = 100;

/// How a value is written.
enum class FieldForm {
  kind,       ///< key of a part kind
  version,    ///< kRecordVersion
  name,       ///< designator or node: see is_name()
  line,       ///< printable text up to kLongestLine
  note,       ///< printable text up to kLongestNote
  quantity,   ///< number with unit
  sections,   ///< a quantity, NxV, or a list of quantities: one per section of a winding
  tolerance,  ///< "15 %", "-20/+80 %"
  count,      ///< whole number 1 to kLargestCount
  choice,     ///< one of `choices`
  nodes,      ///< as the part's NodesForm says
  node_list,  ///< two nodes or more, in order along a winding
  winding,    ///< map with winding_fields()
  windings,   ///< map: winding name -> winding
  parts,      ///< map: designator -> part
};

struct FieldSpec {
  std::string_view key;
  FieldForm form;
  bool required = false;
  std::string_view help;
  Dimension dimension = Dimension::none;
  bool zero_allowed = false;
  std::vector<std::string> choices = {};
};

enum class NodesForm {
  none,    ///< the part has no `nodes` (its windings have)
  list,    ///< [A, B]
  named,   ///< {plus: A, minus: B}
  either,  ///< both
};

struct KindSpec {
  std::string_view key;
  std::string_view help;
  NodesForm nodes_form;
  std::vector<std::string> terminals;  ///< names of the ends, in the order of the list form
  bool has_value;                      ///< `value` and/or `measured` needed
  std::vector<FieldSpec> fields;       ///< all fields, the common ones included
};

[[nodiscard]] const std::vector<KindSpec>& kind_specs();
[[nodiscard]] const KindSpec* find_kind(std::string_view key);
[[nodiscard]] const std::vector<FieldSpec>& record_fields();  ///< top level
[[nodiscard]] const std::vector<FieldSpec>& winding_fields();

[[nodiscard]] const FieldSpec* find_field(const std::vector<FieldSpec>& fields,
                                          std::string_view key);
[[nodiscard]] std::vector<std::string> keys_of(const std::vector<FieldSpec>& fields);
[[nodiscard]] std::vector<std::string> kind_keys();
/// How a field is written, in words with an example.
[[nodiscard]] std::string form_words(const FieldSpec& field, const KindSpec* kind);
/// The table of kinds and fields of docs/records.md (Markdown).
[[nodiscard]] std::string record_fields_markdown();

}  // namespace firstglow::core
