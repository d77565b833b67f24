#pragma once
/// @file
/// What may the page of the bench sheet load and run? Itself and nothing else.

#include <string>
#include <string_view>
#include <vector>

namespace firstglow::sim {

/// "sha256-..." of an inline style or script, as a Content-Security-Policy names it (base64 of the
/// digest of the exact text between the tags).
[[nodiscard]] std::string policy_hash(std::string_view text);

/// The policy that allows these inline styles and scripts and no others: nothing is fetched from
/// anywhere, no form is sent, no style attribute or event handler works.
[[nodiscard]] std::string content_policy(const std::vector<std::string_view>& styles,
                                         const std::vector<std::string_view>& scripts);

}  // namespace firstglow::sim
