#pragma once
/// @file
/// How is the entry of one part kind in the table of record_fields.hpp written down?

#include <string>
#include <string_view>
#include <vector>

#include "core/record_fields.hpp"

namespace firstglow::core {

using Fields = std::vector<FieldSpec>;

/// A quantity that must be written, and one that may be.
[[nodiscard]] FieldSpec needed(std::string_view key, Dimension dimension, std::string_view help,
                               bool zero_allowed = false);
[[nodiscard]] FieldSpec optional(std::string_view key, Dimension dimension, std::string_view help,
                                 bool zero_allowed = false);
/// A word out of `choices`, which may be left out.
[[nodiscard]] FieldSpec choice(std::string_view key, std::vector<std::string> choices,
                               std::string_view help);
/// When a load draws.
[[nodiscard]] FieldSpec drawn_when();
/// `value`, `measured` and `tolerance`.
[[nodiscard]] Fields value_fields(Dimension dimension, std::string_view tolerance_help);

/// A kind with its own fields, to which `kind`, `nodes`, `type` and `note` are added.
[[nodiscard]] KindSpec make_kind(std::string_view key, std::string_view help, NodesForm nodes_form,
                                 std::vector<std::string> terminals, Fields own);

/// Names of two like ends, and of polarised ones.
[[nodiscard]] const std::vector<std::string>& two_ends();
[[nodiscard]] const std::vector<std::string>& polarised_ends();

/// Kinds of one family, added at the end of the table.
void add_rectifier_kinds(std::vector<KindSpec>& kinds);

}  // namespace firstglow::core
