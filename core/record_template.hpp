#pragma once
/// @file
/// How does a record become a form to be filled in? Its text with every key explained.

#include <string>
#include <string_view>

namespace firstglow::core {

/// The record text, unchanged, with a remark in front of the first part of each kind that lists
/// every key the kind may have: how it is written and what it means, from the reader's own table.
/// @throws ContractError when the text is no valid record.
[[nodiscard]] std::string with_explained_keys(std::string_view record_text);

}  // namespace firstglow::core
