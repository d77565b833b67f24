#pragma once
/// @file
/// How does text of unknown origin stand in a page of HTML without becoming markup?

#include <string>
#include <string_view>

namespace firstglow::sim {

/// The text for element content and for attribute values in double quotes: & < > " ' become
/// entities, control characters and marks that turn a line round become visible (as shown()).
[[nodiscard]] std::string html_text(std::string_view text);

}  // namespace firstglow::sim
