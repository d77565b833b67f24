#include "sim/report/shown_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

struct Decoded {
  std::uint32_t point = 0;
  std::size_t length = 0;  ///< bytes; 0: not UTF-8
};

unsigned char byte_at(std::string_view text, std::size_t at) {
  return static_cast<unsigned char>(text[at]);
}

/// The character that starts at `at`; overlong forms, surrogates and cut ends are refused.
Decoded decode(std::string_view text, std::size_t at) {
  const unsigned char first = byte_at(text, at);
  if (first < 0x80) {
    return {first, 1};
  }
  const std::size_t length = first >= 0xF0 ? 4U : (first >= 0xE0 ? 3U : 2U);
  if (first < 0xC2 || first > 0xF4 || at + length > text.size()) {
    return {};
  }
  std::uint32_t point = first & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    const unsigned char next = byte_at(text, at + i);
    if ((next & 0xC0U) != 0x80U) {
      return {};
    }
    point = (point << 6U) | (next & 0x3FU);
  }
  constexpr std::array<std::uint32_t, 5> kLeast{0, 0, 0x80, 0x800, 0x10000};
  if (point < kLeast[length] || point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF)) {
    return {};
  }
  return {point, length};
}

struct Range {
  std::uint32_t first, last;
};

template <std::size_t N>
bool in_any(std::uint32_t point, const std::array<Range, N>& ranges) {
  return std::any_of(ranges.begin(), ranges.end(), [point](const Range& range) {
    return point >= range.first && point <= range.last;
  });
}

/// Controls, invisible and direction marks, line separators, private use, tags.
bool is_hidden(std::uint32_t point) {
  static constexpr std::array<Range, 14> kHidden{{{0x00, 0x1F},
                                                  {0x7F, 0x9F},
                                                  {0xAD, 0xAD},
                                                  {0x61C, 0x61C},
                                                  {0x115F, 0x1160},
                                                  {0x180B, 0x180F},
                                                  {0x200B, 0x200F},
                                                  {0x2028, 0x202E},
                                                  {0x2060, 0x206F},
                                                  {0xE000, 0xF8FF},
                                                  {0xFE00, 0xFE0F},
                                                  {0xFEFF, 0xFEFF},
                                                  {0xFFF0, 0xFFFB},
                                                  {0xE0000, 0x10FFFF}}};
  return in_any(point, kHidden);
}

int columns_of_point(std::uint32_t point) {
  static constexpr std::array<Range, 4> kCombining{
      {{0x300, 0x36F}, {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF}, {0x20D0, 0x20FF}}};
  static constexpr std::array<Range, 8> kWide{{{0x1100, 0x115F},
                                               {0x2E80, 0xA4CF},
                                               {0xAC00, 0xD7A3},
                                               {0xF900, 0xFAFF},
                                               {0xFE30, 0xFE6F},
                                               {0xFF00, 0xFF60},
                                               {0x1F300, 0x1FAFF},
                                               {0x20000, 0x3FFFD}}};
  return in_any(point, kCombining) ? 0 : (in_any(point, kWide) ? 2 : 1);
}

std::string escape_of(std::uint32_t point) {
  if (point == '\n') {
    return "\\n";
  }
  if (point == '\t') {
    return "\\t";
  }
  return point < 0x80 ? fmt::format("\\x{:02x}", point) : fmt::format("\\u{{{:x}}}", point);
}

/// End of the longest start of `text` that takes at most `width` columns; at least one character.
std::size_t cut_at(std::string_view text, int width) {
  std::size_t at = 0;
  int columns = 0;
  while (at < text.size()) {
    const Decoded one = decode(text, at);
    columns += one.length == 0 ? 1 : columns_of_point(one.point);
    if (columns > width && at > 0) {
      break;
    }
    at += std::max<std::size_t>(one.length, 1);
  }
  return at;
}

}  // namespace

std::string shown(std::string_view text, const TextStyle& style) {
  std::string result;
  result.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const Decoded one = decode(text, at);
    if (one.length == 0) {
      result += fmt::format("\\x{:02x}", byte_at(text, at));
      ++at;
      continue;
    }
    if (is_hidden(one.point) || (one.point >= 0x80 && !style.utf8)) {
      result += escape_of(one.point);
    } else {
      result += text.substr(at, one.length);
    }
    at += one.length;
  }
  return result;
}

std::string source_words(const std::string& source) {
  const bool is_key =
      source.size() >= 4 &&
      source.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.") == std::string::npos;
  return is_key ? "[" + source + "]" : source;
}

int columns_of(std::string_view text) {
  int columns = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Decoded one = decode(text, at);
    columns += one.length == 0 ? 1 : columns_of_point(one.point);
    at += std::max<std::size_t>(one.length, 1);
  }
  return columns;
}

std::vector<std::string> wrapped(std::string_view text, int width) {
  FIRSTGLOW_REQUIRE(width >= 1, "a line has room for one character");
  std::vector<std::string> lines;
  std::string line;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (word.empty()) {
      continue;
    }
    if (!line.empty() && columns_of(line) + 1 + columns_of(word) > width) {
      lines.push_back(std::move(line));
      line.clear();
    }
    if (!line.empty()) {
      line += ' ';
    }
    while (columns_of(line) + columns_of(word) > width) {
      const std::size_t cut = cut_at(word, width - columns_of(line));
      lines.push_back(line + std::string(word.substr(0, cut)));
      line.clear();
      word.remove_prefix(cut);
    }
    line += word;
  }
  if (!line.empty() || lines.empty()) {
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace firstglow::sim
