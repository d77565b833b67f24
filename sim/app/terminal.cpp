#include "sim/app/terminal.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>
#include <string>

namespace firstglow::sim {
namespace {

using std::chrono::steady_clock;

constexpr auto kSilentTime = std::chrono::seconds(2);
constexpr auto kBetweenUpdates = std::chrono::milliseconds(200);

/// Best effort: nobody can be told that the standard error is gone.
void put_error(std::string_view text) {
  while (!text.empty()) {
    const ssize_t done = ::write(STDERR_FILENO, text.data(), text.size());
    if (done <= 0) {
      return;
    }
    text.remove_prefix(static_cast<std::size_t>(done));
  }
}

}  // namespace

TextStyle style_of_environment() {
  static constexpr std::array<const char*, 3> kNames{"LC_ALL", "LC_CTYPE", "LANG"};
  for (const char* name : kNames) {
    const char* found = std::getenv(name);  // NOLINT(concurrency-mt-unsafe)
    if (found == nullptr || *found == '\0') {
      continue;
    }
    std::string value = found;
    std::transform(value.begin(), value.end(), value.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    const bool utf8 =
        value.find("utf-8") != std::string::npos || value.find("utf8") != std::string::npos;
    return {.utf8 = utf8};
  }
  return {};
}

void complain(std::string_view text) {
  const TextStyle style = style_of_environment();
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out += "firstglow: " + shown(text.substr(0, end), style) + "\n";
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  put_error(out);
}

ProgressLine::ProgressLine()
    : start_(steady_clock::now()), last_(start_), on_terminal_(::isatty(STDERR_FILENO) == 1) {}

ProgressLine::~ProgressLine() { clear(); }

Progress ProgressLine::callback() {
  if (!on_terminal_) {
    return {};
  }
  return [this](int done, int all) { show(done, all); };
}

void ProgressLine::show(int done, int all) {
  const auto now = steady_clock::now();
  if (now - start_ < kSilentTime || now - last_ < kBetweenUpdates) {
    return;
  }
  last_ = now;
  const std::string text = fmt::format("{} of {} runs done", done, all);
  clear();
  put_error(text);
  shown_columns_ = static_cast<int>(text.size());
}

void ProgressLine::clear() {
  if (shown_columns_ > 0) {
    put_error("\r" + std::string(static_cast<std::size_t>(shown_columns_), ' ') + "\r");
    shown_columns_ = 0;
  }
}

}  // namespace firstglow::sim
