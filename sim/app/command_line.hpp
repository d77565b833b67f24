#pragma once
/// @file
/// What does the command line ask for, and which exit code is the answer?

namespace firstglow::sim {

/// Parses, runs, prints; every error becomes one line on the standard error and an exit code.
[[nodiscard]] int run_command_line(int argc, const char* const* argv) noexcept;

}  // namespace firstglow::sim
