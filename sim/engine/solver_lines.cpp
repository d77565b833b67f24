#include "sim/engine/solver_lines.hpp"

#include <array>

namespace firstglow::sim {
namespace {

template <std::size_t N>
bool holds_any(std::string_view line, const std::array<std::string_view, N>& words) {
  for (const std::string_view word : words) {
    if (line.find(word) != std::string_view::npos) {
      return true;
    }
  }
  return false;
}

bool is_name_char(char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '#'; }

/// First name in `text` that looks like one of ours: letter, digits, perhaps `#branch`.
std::string first_name(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size()) {
    while (i < text.size() && !is_name_char(text[i])) {
      ++i;
    }
    std::size_t end = i;
    while (end < text.size() && is_name_char(text[end])) {
      ++end;
    }
    if (end - i >= 2 && text[i] >= 'a' && text[i + 1] >= '0' && text[i + 1] <= '9') {
      return std::string(text.substr(i, end - i));
    }
    i = end;
  }
  return {};
}

}  // namespace

bool tells_load_error(std::string_view line) {
  static constexpr std::array<std::string_view, 8> kWords{
      "rror", "arning", "can't find", "nknown", "ismatch", "atal", "no such", "impossible"};
  return line.starts_with("stderr") && holds_any(line, kWords);
}

bool tells_abort(std::string_view line) {
  static constexpr std::array<std::string_view, 10> kWords{"aborted",
                                                           "Timestep too small",
                                                           "out of range",
                                                           "Fatal",
                                                           "fatal",
                                                           "not converge",
                                                           "no circuits loaded",
                                                           "circuit not parsed",
                                                           "impossible error",
                                                           "resistance to low"};
  return holds_any(line, kWords);
}

std::string failing_name(const std::vector<std::string>& lines) {
  static constexpr std::array<std::string_view, 2> kBefore{"trouble with", "check node"};
  for (const std::string_view words : kBefore) {
    for (auto line = lines.rbegin(); line != lines.rend(); ++line) {
      const std::size_t at = line->find(words);
      if (at != std::string::npos) {
        std::string_view rest = std::string_view(*line).substr(at + words.size());
        // An element is told as `model:element`.
        const std::size_t colon = rest.find(':');
        if (colon != std::string_view::npos && rest.find('"') == std::string_view::npos) {
          rest.remove_prefix(colon);
        }
        return first_name(rest);
      }
    }
  }
  return {};
}

}  // namespace firstglow::sim
