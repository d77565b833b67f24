#include "core/nearest_word.hpp"

#include <algorithm>
#include <utility>

namespace firstglow::core {
namespace {

/// Longer words are cut, and near to nothing: the format knows no longer ones, and the cost grows
/// with the square.
constexpr std::size_t kLongestWord = 48;

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

int edit_distance(std::string_view one, std::string_view other) {
  one = one.substr(0, kLongestWord);
  other = other.substr(0, kLongestWord);
  std::vector<int> before(other.size() + 1), above(other.size() + 1), row(other.size() + 1);
  for (std::size_t j = 0; j <= other.size(); ++j) {
    above[j] = static_cast<int>(j);
  }
  for (std::size_t i = 1; i <= one.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= other.size(); ++j) {
      const bool same = lower(one[i - 1]) == lower(other[j - 1]);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + (same ? 0 : 1)});
      if (i > 1 && j > 1 && lower(one[i - 1]) == lower(other[j - 2]) &&
          lower(one[i - 2]) == lower(other[j - 1])) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    before.swap(above);
    above.swap(row);
  }
  return above[other.size()];
}

std::vector<std::string> nearest_words(std::string_view word, const std::vector<std::string>& known,
                                       std::size_t most) {
  std::vector<std::pair<int, std::string>> near;
  if (word.size() > kLongestWord) {
    return {};
  }
  for (const std::string& candidate : known) {
    const int longest = static_cast<int>(std::max(word.size(), candidate.size()));
    const int distance = edit_distance(word, candidate);
    if (distance <= std::max(2, longest / 3) && distance < longest) {
      near.emplace_back(distance, candidate);
    }
  }
  std::stable_sort(near.begin(), near.end(),
                   [](const auto& x, const auto& y) { return x.first < y.first; });
  std::vector<std::string> words;
  for (std::size_t i = 0; i < near.size() && i < most; ++i) {
    words.push_back(near[i].second);
  }
  return words;
}

std::string nearest_word(std::string_view word, const std::vector<std::string>& known) {
  const std::vector<std::string> words = nearest_words(word, known, 1);
  return words.empty() ? std::string() : words.front();
}

}  // namespace firstglow::core
