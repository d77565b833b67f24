#pragma once
/// @file
/// One worker process as the pool sees it: start it, ask it once, kill it.

#include <sys/types.h>

#include <chrono>
#include <optional>
#include <string>

#include "sim/engine/protocol.hpp"

namespace firstglow::sim {

using Deadline = std::chrono::steady_clock::time_point;

/// Why a question got no answer.
struct WorkerTrouble {
  enum class Kind {
    deadline,   ///< no answer in time
    killed,     ///< SIGKILL that was not ours: somebody, or the memory watchdog of the system
    died,       ///< ended by itself or by another signal
    bad_answer  ///< bytes that are no message
  };
  Kind kind = Kind::died;
  std::string message;
};

struct Reply {
  FrameKind kind = FrameKind::failure;
  Bytes payload;
};

/// Not running until the first ask(). The destructor kills and reaps.
///
/// The process dies with the *thread* that started it (PR_SET_PDEATHSIG), so that thread must
/// live as long as this object.
class WorkerProcess {
 public:
  explicit WorkerProcess(std::string program) : program_(std::move(program)) {}
  ~WorkerProcess() { stop(); }
  WorkerProcess(const WorkerProcess&) = delete;
  WorkerProcess& operator=(const WorkerProcess&) = delete;

  /// Starts the process when none runs. After trouble the process is gone.
  /// @throws core::SimulationError when the program cannot be started at all.
  /// @throws Cancelled when request_cancel() was called.
  [[nodiscard]] std::optional<WorkerTrouble> ask(const Bytes& question, Deadline deadline,
                                                 Reply& reply);
  /// Kills and reaps; a later ask() starts a new one.
  void stop();

  [[nodiscard]] pid_t pid() const { return pid_; }
  [[nodiscard]] unsigned long answers() const { return answers_; }  ///< since it was started
  /// Resident memory in bytes, 0 when not known.
  [[nodiscard]] std::size_t resident_bytes() const;

 private:
  /// Trouble only when the new process was killed from outside before it greeted.
  /// @throws core::SimulationError when the program cannot be started, Cancelled
  [[nodiscard]] std::optional<WorkerTrouble> start();
  [[nodiscard]] std::optional<WorkerTrouble> send(const Bytes& bytes, Deadline deadline);
  [[nodiscard]] std::optional<WorkerTrouble> receive(std::span<std::byte> to, Deadline deadline);
  [[nodiscard]] std::optional<WorkerTrouble> receive_frame(Deadline deadline, Reply& reply);
  [[nodiscard]] std::optional<WorkerTrouble> wait_for(short events, Deadline deadline) const;
  /// The process ended: reaps it and says how.
  [[nodiscard]] WorkerTrouble reap();

  std::string program_;
  pid_t pid_ = -1;
  int socket_ = -1;
  unsigned long answers_ = 0;
};

}  // namespace firstglow::sim
