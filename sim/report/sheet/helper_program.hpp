#pragma once
/// @file
/// What does a drawing program of the system answer, when there is one?

#include <chrono>
#include <string>
#include <vector>

namespace firstglow::sim {

struct HelperCall {
  std::string program;                 ///< a fixed name, looked for on PATH
  std::vector<std::string> arguments;  ///< fixed words, and paths this program made
  std::string input;                   ///< its standard input
  std::chrono::milliseconds deadline{10'000};
  std::string home = "/nonexistent";  ///< its HOME: no start file of the user is read
};

struct HelperAnswer {
  std::string output;   ///< its standard output, whole
  std::string failure;  ///< not empty: no output, and why in words
};

/// Runs the program without a shell, in a small environment and a process group of its own, which
/// is ended at the deadline or when the user stops the work. Anything but exit code 0 in time is a
/// failure. Never throws for what the helper does.
[[nodiscard]] HelperAnswer ask_helper(const HelperCall& call);

}  // namespace firstglow::sim
