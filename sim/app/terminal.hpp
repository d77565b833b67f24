#pragma once
/// @file
/// What do we know of the terminal, and how does a person see that work goes on?

#include <chrono>
#include <string_view>

#include "sim/report/shown_text.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

/// UTF-8 only when the locale of the environment (LC_ALL, LC_CTYPE, LANG) says so.
[[nodiscard]] TextStyle style_of_environment();

/// `firstglow: text` on the standard error, one line for each line of the text, each made harmless.
void complain(std::string_view text);

/// Counts finished runs on one line of the standard error, when that is a terminal and the work
/// takes longer than two seconds; leaves no trace.
class ProgressLine {
 public:
  ProgressLine();
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  [[nodiscard]] Progress callback();

 private:
  void show(int done, int all);
  void clear();

  std::chrono::steady_clock::time_point start_, last_;
  bool on_terminal_ = false;
  int shown_columns_ = 0;
};

}  // namespace firstglow::sim
