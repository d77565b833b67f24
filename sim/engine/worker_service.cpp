#include "sim/engine/worker_service.hpp"

#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <memory>
#include <string_view>

#include "sim/engine/lockdown.hpp"
#include "sim/engine/ngspice_session.hpp"
#include "sim/engine/process_stubs.hpp"

namespace firstglow::sim {
namespace {

constexpr int kSuccess = 0;
constexpr int kTrouble = 1;

/// Fills the whole span; false at the end of the stream or on an error.
bool read_all(std::span<std::byte> to) {
  while (!to.empty()) {
    const ssize_t got = read(kWorkerSocketFd, to.data(), to.size());
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got <= 0) {
      return false;
    }
    to = to.subspan(static_cast<std::size_t>(got));
  }
  return true;
}

bool write_all(std::span<const std::byte> from) {
  while (!from.empty()) {
    const ssize_t sent = write(kWorkerSocketFd, from.data(), from.size());
    if (sent < 0 && errno == EINTR) {
      continue;
    }
    if (sent <= 0) {
      return false;
    }
    from = from.subspan(static_cast<std::size_t>(sent));
  }
  return true;
}

int parent_of(std::span<char*> arguments) {
  int pid = 0;
  if (arguments.size() == 2) {
    const std::string_view text(arguments[1]);
    std::from_chars(text.data(), text.data() + text.size(), pid);
  }
  return pid;
}

/// Starts the solver where it finds no start file, then locks the process.
std::unique_ptr<NgspiceSession> start_locked() {
  block_start_files();
  auto session = std::make_unique<NgspiceSession>();
  if (!start_files_were_blocked()) {
    throw core::SimulationError("the solver did not look where the worker expected it to", {});
  }
  lock_down();
  return session;
}

void tell_failure(const std::exception& error) {
  write_all(frame(FrameKind::failure, encode(RunFailure{error.what(), 0.0, {}, -1, -1})));
}

/// Reads and answers one job after the other; returns the exit status.
int answer_jobs(NgspiceSession& session, const AnswerJob& answer) {
  std::array<std::byte, sizeof(FrameHeader)> header{};
  while (read_all(header)) {
    Bytes payload(static_cast<std::size_t>(parse_header(header).length));
    if (!read_all(payload)) {
      return kTrouble;
    }
    const Answer reply = answer(session, payload);
    if (!write_all(reply.frame) || reply.last) {
      return kTrouble;
    }
  }
  return kSuccess;
}

}  // namespace

void serve(std::span<char*> arguments, const AnswerJob& answer) {
  follow_parent(parent_of(arguments));
  int status = kTrouble;
  try {
    if (close_range(kWorkerSocketFd + 1, ~0U, 0) != 0) {
      throw core::SimulationError("the worker cannot close inherited files", {});
    }
    const std::unique_ptr<NgspiceSession> session = start_locked();
    if (write_all(frame(FrameKind::hello, {}))) {
      status = answer_jobs(*session, answer);
    }
  } catch (const std::exception& error) {
    tell_failure(error);
  }
  // No destructors of the solver: after trouble they could crash, and nothing is left to save.
  _exit(status);
}

}  // namespace firstglow::sim
