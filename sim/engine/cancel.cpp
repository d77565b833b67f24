#include "sim/engine/cancel.hpp"

#include <atomic>

namespace firstglow::sim {
namespace {

std::atomic<bool> requested{false};
static_assert(std::atomic<bool>::is_always_lock_free, "a signal handler may set it");

}  // namespace

Cancelled::Cancelled() : Error("stopped on request; there is no answer") {}

void request_cancel() noexcept { requested.store(true, std::memory_order_relaxed); }
bool cancel_requested() noexcept { return requested.load(std::memory_order_relaxed); }
void clear_cancel() noexcept { requested.store(false, std::memory_order_relaxed); }

}  // namespace firstglow::sim
