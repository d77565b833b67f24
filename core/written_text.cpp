#include "core/written_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>

namespace firstglow::core {
namespace {

struct Decoded {
  std::uint32_t code = 0;
  std::size_t length = 0;  ///< bytes used; 0 when the bytes are not UTF-8
};

bool is_continuation(unsigned char byte) { return (byte & 0xC0U) == 0x80U; }

/// One character at the start of `text`; overlong forms and surrogates are not UTF-8.
Decoded decode(std::string_view text) {
  const auto first = static_cast<unsigned char>(text[0]);
  if (first < 0x80U) {
    return {first, 1};
  }
  const std::size_t length = first >= 0xF0U ? 4 : first >= 0xE0U ? 3 : 2;
  if (first < 0xC2U || first > 0xF4U || text.size() < length) {
    return {};
  }
  std::uint32_t code = first & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) {
    const auto next = static_cast<unsigned char>(text[i]);
    if (!is_continuation(next)) {
      return {};
    }
    code = (code << 6U) | (next & 0x3FU);
  }
  constexpr std::array<std::uint32_t, 5> kSmallest{0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < kSmallest.at(length) || code > 0x10FFFF || surrogate) {
    return {};
  }
  return {code, length};
}

bool is_refused(std::uint32_t code) {
  const bool control = code < 0x20 || (code >= 0x7F && code <= 0x9F);
  const bool reorders = (code >= 0x2028 && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
  return control || reorders || code == 0xFEFF || code == 0xFFFE || code == 0xFFFF;
}

bool is_line_or_tab(std::string_view text, std::size_t at) {
  return text[at] == '\t' || text[at] == '\n' ||
         (text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n');
}

}  // namespace

std::optional<BadCharacter> find_bad_character(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    const Decoded next = decode(text.substr(at));
    if (next.length == 0) {
      return BadCharacter{at, fmt::format("byte 0x{:02X}, which is not UTF-8",
                                          static_cast<unsigned char>(text[at]))};
    }
    if (next.code == 0) {
      return BadCharacter{at, "a NUL byte"};
    }
    if (is_refused(next.code) && !is_line_or_tab(text, at)) {
      return BadCharacter{at, fmt::format("control character U+{:04X}", next.code)};
    }
    at += next.length;
  }
  return std::nullopt;
}

SourcePosition position_at(std::string_view text, std::size_t offset) {
  SourcePosition where{1, 1};
  for (std::size_t i = 0; i < std::min(offset, text.size()); ++i) {
    if (text[i] == '\n') {
      ++where.line;
      where.column = 1;
    } else if (!is_continuation(static_cast<unsigned char>(text[i]))) {
      ++where.column;
    }
  }
  return where;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\n";
  const std::size_t first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) {
    return {};
  }
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

std::string in_quotes(std::string_view text) {
  constexpr std::size_t kShown = 40;
  std::string shown = "'";
  std::size_t count = 0;
  while (!text.empty() && count < kShown) {
    const Decoded next = decode(text);
    const std::size_t length = std::max<std::size_t>(next.length, 1);
    if (next.length == 0 || is_refused(next.code)) {
      shown += fmt::format("\\x{:02X}", static_cast<unsigned char>(text[0]));
      text.remove_prefix(1);
    } else {
      shown += text.substr(0, length);
      text.remove_prefix(length);
    }
    ++count;
  }
  return shown + (text.empty() ? "'" : "...'");
}

bool is_name(std::string_view text) {
  constexpr std::string_view kAllowed =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+-_./()";
  return !text.empty() && text.size() <= kLongestName &&
         text.find_first_not_of(kAllowed) == std::string_view::npos;
}

std::string name_rule() {
  return fmt::format("1 to {} of the characters A-Z a-z 0-9 + - _ . / ( ), without blanks",
                     kLongestName);
}

std::size_t count_characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return !is_continuation(static_cast<unsigned char>(c));
  }));
}

}  // namespace firstglow::core
