#pragma once
/// @file
/// How does an interrupt from the keyboard end a study?

#include "core/error.hpp"

namespace firstglow::sim {

/// The user asked to stop; there is no answer.
class Cancelled : public core::Error {
 public:
  Cancelled();
};

/// Makes every running and later for_each() throw Cancelled soon. Safe in a signal handler.
void request_cancel() noexcept;
[[nodiscard]] bool cancel_requested() noexcept;
/// Forgets the request; for a program that goes on after it, and for tests.
void clear_cancel() noexcept;

}  // namespace firstglow::sim
