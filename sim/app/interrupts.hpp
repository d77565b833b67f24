#pragma once
/// @file
/// What happens on Ctrl-C, on kill, and when a reader goes away?

namespace firstglow::sim {

/// The first SIGINT, SIGTERM or SIGHUP asks the workers to stop, so that nothing is left half
/// written; a second one ends the program at once. SIGPIPE is ignored: a write then fails.
void handle_interrupts();

/// 128 plus the signal that asked for the stop (130 for Ctrl-C).
[[nodiscard]] int interrupt_exit_code();

/// Keeps the numbers 0 to 2 away from files we open, when the caller closed them.
void reserve_standard_streams();

}  // namespace firstglow::sim
