#include "sim/engine/worker_process.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fstream>

#include "sim/engine/cancel.hpp"

namespace firstglow::sim {
namespace {

using Kind = WorkerTrouble::Kind;
using std::chrono::milliseconds;
using std::chrono::steady_clock;

constexpr auto kStartTime = std::chrono::seconds(20);
constexpr milliseconds kCancelLook{50};  // how often a wait looks for a cancel request
constexpr int kReapLooks = 2000;  // of 1 ms each: on a busy machine a dying process takes time

/// File actions of posix_spawn, released at the end.
class SpawnFiles {
 public:
  SpawnFiles() { posix_spawn_file_actions_init(&actions_); }
  ~SpawnFiles() { posix_spawn_file_actions_destroy(&actions_); }
  SpawnFiles(const SpawnFiles&) = delete;
  SpawnFiles& operator=(const SpawnFiles&) = delete;
  void null_device(int fd, int mode) {
    posix_spawn_file_actions_addopen(&actions_, fd, "/dev/null", mode, 0);
  }
  void move(int from, int to) { posix_spawn_file_actions_adddup2(&actions_, from, to); }
  [[nodiscard]] const posix_spawn_file_actions_t* get() const { return &actions_; }

 private:
  posix_spawn_file_actions_t actions_{};
};

/// Signals as a fresh program has them, whatever the calling thread blocks.
class SpawnSignals {
 public:
  SpawnSignals() {
    posix_spawnattr_init(&attributes_);
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_setsigmask(&attributes_, &none);
    posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETSIGMASK);
  }
  ~SpawnSignals() { posix_spawnattr_destroy(&attributes_); }
  SpawnSignals(const SpawnSignals&) = delete;
  SpawnSignals& operator=(const SpawnSignals&) = delete;
  [[nodiscard]] const posix_spawnattr_t* get() const { return &attributes_; }

 private:
  posix_spawnattr_t attributes_{};
};

[[noreturn]] void throw_cannot_start(const std::string& program, const std::string& reason) {
  throw core::SimulationError(
      fmt::format("the engine program '{}' cannot be started: {}; install firstglow-worker beside "
                  "firstglow, or name it in the environment variable FIRSTGLOW_WORKER",
                  program, reason),
      {});
}

/// The worker gets only what the system's loader needs to find the same libraries.
std::vector<std::string> worker_environment() {
  std::vector<std::string> environment{"LC_ALL=C"};
  for (const char* name : {"LD_LIBRARY_PATH", "ASAN_OPTIONS", "UBSAN_OPTIONS"}) {
    if (const char* value = std::getenv(name)) {  // NOLINT(concurrency-mt-unsafe)
      environment.push_back(fmt::format("{}={}", name, value));
    }
  }
  return environment;
}

std::vector<char*> pointers_to(std::vector<std::string>& strings) {
  std::vector<char*> pointers;
  pointers.reserve(strings.size() + 1);
  for (std::string& text : strings) {
    pointers.push_back(text.data());
  }
  pointers.push_back(nullptr);
  return pointers;
}

pid_t spawn(const std::string& program, int worker_socket) {
  SpawnFiles files;
  files.null_device(STDIN_FILENO, O_RDONLY);
  files.null_device(STDOUT_FILENO, O_WRONLY);
#ifndef __SANITIZE_ADDRESS__  // whose reports go to the error output
  files.null_device(STDERR_FILENO, O_WRONLY);
#endif
  files.move(worker_socket, kWorkerSocketFd);
  const SpawnSignals signals;
  std::vector<std::string> arguments{program, fmt::format("{}", getpid())};
  std::vector<std::string> environment = worker_environment();
  pid_t pid = -1;
  const int error = posix_spawn(&pid, program.c_str(), files.get(), signals.get(),
                                pointers_to(arguments).data(), pointers_to(environment).data());
  if (error != 0) {
    throw_cannot_start(program, std::strerror(error));  // NOLINT(concurrency-mt-unsafe)
  }
  return pid;
}

}  // namespace

std::optional<WorkerTrouble> WorkerProcess::start() {
  std::array<int, 2> ends{-1, -1};
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends.data()) != 0) {
    throw_cannot_start(program_, std::strerror(errno));  // NOLINT(concurrency-mt-unsafe)
  }
  socket_ = ends[0];
  try {
    pid_ = spawn(program_, ends[1]);
  } catch (...) {
    close(ends[1]);
    stop();
    throw;
  }
  close(ends[1]);
  fcntl(socket_, F_SETFL, O_NONBLOCK);
  answers_ = 0;
  Reply hello;
  auto trouble = receive_frame(steady_clock::now() + kStartTime, hello);
  if (trouble && trouble->kind == Kind::killed) {
    return trouble;  // no fault of the program: the next start may live
  }
  if (trouble || hello.kind != FrameKind::hello) {
    stop();
    throw_cannot_start(program_, trouble ? trouble->message
                                 : hello.kind == FrameKind::failure
                                     ? decode_failure(hello.payload).message
                                     : "it does not answer as a worker");
  }
  return std::nullopt;
}

void WorkerProcess::stop() {
  if (pid_ > 0) {
    kill(pid_, SIGKILL);
    while (waitpid(pid_, nullptr, 0) < 0 && errno == EINTR) {
    }
  }
  if (socket_ >= 0) {
    close(socket_);
  }
  pid_ = -1;
  socket_ = -1;
}

std::optional<WorkerTrouble> WorkerProcess::ask(const Bytes& question, Deadline deadline,
                                                Reply& reply) {
  try {
    if (pid_ < 0) {
      // Starting counts for the pool, not for the job.
      const auto before = steady_clock::now();
      if (auto trouble = start()) {
        return trouble;
      }
      deadline += steady_clock::now() - before;
    }
    auto trouble = send(question, deadline);
    if (!trouble) {
      trouble = receive_frame(deadline, reply);
    }
    if (trouble) {
      stop();
    } else {
      ++answers_;
    }
    return trouble;
  } catch (...) {
    stop();
    throw;
  }
}

std::optional<WorkerTrouble> WorkerProcess::send(const Bytes& bytes, Deadline deadline) {
  std::span<const std::byte> rest(bytes);
  while (!rest.empty()) {
    const ssize_t sent = ::send(socket_, rest.data(), rest.size(), MSG_NOSIGNAL);
    if (sent > 0) {
      rest = rest.subspan(static_cast<std::size_t>(sent));
    } else if (errno == EAGAIN || errno == EWOULDBLOCK) {
      if (auto trouble = wait_for(POLLOUT, deadline)) {
        return trouble;
      }
    } else if (errno != EINTR) {
      return reap();
    }
  }
  return std::nullopt;
}

std::optional<WorkerTrouble> WorkerProcess::receive(std::span<std::byte> to, Deadline deadline) {
  while (!to.empty()) {
    const ssize_t got = recv(socket_, to.data(), to.size(), 0);
    if (got > 0) {
      to = to.subspan(static_cast<std::size_t>(got));
    } else if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) {
      if (auto trouble = wait_for(POLLIN, deadline)) {
        return trouble;
      }
    } else if (got == 0 || errno != EINTR) {
      return reap();
    }
  }
  return std::nullopt;
}

std::optional<WorkerTrouble> WorkerProcess::receive_frame(Deadline deadline, Reply& reply) {
  std::array<std::byte, sizeof(FrameHeader)> bytes{};
  if (auto trouble = receive(bytes, deadline)) {
    return trouble;
  }
  try {
    const FrameHeader header = parse_header(bytes);
    reply.kind = static_cast<FrameKind>(header.kind);
    reply.payload.resize(static_cast<std::size_t>(header.length));
  } catch (const ProtocolError& error) {
    return WorkerTrouble{Kind::bad_answer, error.what()};
  }
  return receive(reply.payload, deadline);
}

std::optional<WorkerTrouble> WorkerProcess::wait_for(short events, Deadline deadline) const {
  for (;;) {
    if (cancel_requested()) {
      throw Cancelled();
    }
    const auto left = std::chrono::ceil<milliseconds>(deadline - steady_clock::now());
    if (left.count() <= 0) {
      return WorkerTrouble{Kind::deadline, "the solver did not finish in the time allowed"};
    }
    pollfd entry{socket_, events, 0};
    const int ready = poll(&entry, 1, static_cast<int>(std::min(left, kCancelLook).count()));
    if (ready > 0) {
      return std::nullopt;
    }
  }
}

WorkerTrouble WorkerProcess::reap() {
  // The stream ended; a process that is still there would have no use.
  int status = 0;
  pid_t ended = 0;
  for (int look = 0; look < kReapLooks && ended == 0; ++look) {
    ended = waitpid(pid_, &status, WNOHANG);
    if (ended == 0) {
      poll(nullptr, 0, 1);
    }
  }
  if (ended != pid_) {
    stop();
    return {Kind::died, "the solver process closed its connection"};
  }
  pid_ = -1;
  stop();
  if (WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL) {
    return {Kind::killed, "the solver process was killed from outside"};
  }
  if (WIFSIGNALED(status)) {
    return {Kind::died, fmt::format("the solver process crashed (signal {})", WTERMSIG(status))};
  }
  return {Kind::died, fmt::format("the solver process ended (status {})", WEXITSTATUS(status))};
}

std::size_t WorkerProcess::resident_bytes() const {
  std::ifstream file(fmt::format("/proc/{}/statm", pid_));
  std::size_t total_pages = 0;
  std::size_t resident_pages = 0;
  if (!(file >> total_pages >> resident_pages)) {
    return 0;
  }
  return resident_pages * static_cast<std::size_t>(sysconf(_SC_PAGESIZE));
}

}  // namespace firstglow::sim
