#include "sim/report/sheet/helper_program.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>

#include "sim/engine/cancel.hpp"

namespace firstglow::sim {
namespace {

constexpr off_t kMostOutput = 16 << 20;
constexpr int kLookEveryMs = 50;

/// A file in memory; -1 when the system has none left.
class MemoryFile {
 public:
  MemoryFile() : descriptor_(::memfd_create("firstglow", MFD_CLOEXEC)) {}
  ~MemoryFile() {
    if (descriptor_ >= 0) {
      ::close(descriptor_);
    }
  }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;

  [[nodiscard]] int descriptor() const { return descriptor_; }
  [[nodiscard]] bool fill(const std::string& text) const {
    std::size_t done = 0;
    while (done < text.size()) {
      const ssize_t step = ::write(descriptor_, text.data() + done, text.size() - done);
      if (step <= 0) {
        return false;
      }
      done += static_cast<std::size_t>(step);
    }
    return ::lseek(descriptor_, 0, SEEK_SET) == 0;
  }
  [[nodiscard]] bool read(std::string& text) const {
    struct stat status {};
    if (::fstat(descriptor_, &status) != 0 || status.st_size > kMostOutput) {
      return false;
    }
    text.resize(static_cast<std::size_t>(status.st_size));
    return ::pread(descriptor_, text.data(), text.size(), 0) == static_cast<ssize_t>(text.size());
  }

 private:
  int descriptor_ = -1;
};

std::vector<char*> pointers(std::vector<std::string>& words) {
  std::vector<char*> all;
  all.reserve(words.size() + 1);
  for (std::string& word : words) {
    all.push_back(word.data());
  }
  all.push_back(nullptr);
  return all;
}

std::vector<std::string> small_environment(const std::string& home) {
  const char* path = std::getenv("PATH");  // NOLINT(concurrency-mt-unsafe): nobody writes it
  return {std::string("PATH=") + (path != nullptr ? path : "/usr/bin:/bin"), "HOME=" + home,
          "LC_ALL=C.UTF-8", "TZ=UTC"};
}

/// 0 and the process, or the error number.
int spawn(const HelperCall& call, const MemoryFile& in, const MemoryFile& out, pid_t& pid) {
  posix_spawn_file_actions_t actions;
  posix_spawnattr_t attributes;
  ::posix_spawn_file_actions_init(&actions);
  ::posix_spawnattr_init(&attributes);
  ::posix_spawn_file_actions_adddup2(&actions, in.descriptor(), STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&actions, out.descriptor(), STDOUT_FILENO);
  ::posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
  sigset_t none;
  sigset_t all;
  ::sigemptyset(&none);
  ::sigfillset(&all);
  ::posix_spawnattr_setsigmask(&attributes, &none);
  ::posix_spawnattr_setsigdefault(&attributes, &all);
  ::posix_spawnattr_setpgroup(&attributes, 0);
  ::posix_spawnattr_setflags(
      &attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETPGROUP);
  std::vector<std::string> words{call.program};
  words.insert(words.end(), call.arguments.begin(), call.arguments.end());
  std::vector<std::string> environment = small_environment(call.home);
  const int error = ::posix_spawnp(&pid, call.program.c_str(), &actions, &attributes,
                                   pointers(words).data(), pointers(environment).data());
  ::posix_spawn_file_actions_destroy(&actions);
  ::posix_spawnattr_destroy(&attributes);
  return error;
}

/// Waits until the process ends; kills its group at the deadline or when the work is stopped.
/// @returns false when it was killed here.
bool wait_for(pid_t pid, std::chrono::milliseconds deadline, int& status) {
  const int handle = static_cast<int>(::syscall(SYS_pidfd_open, pid, 0));
  const auto end = std::chrono::steady_clock::now() + deadline;
  bool ended = false;
  while (handle >= 0 && !ended && !cancel_requested() && std::chrono::steady_clock::now() < end) {
    pollfd watched{handle, POLLIN, 0};
    ended = ::poll(&watched, 1, kLookEveryMs) > 0;
  }
  if (handle >= 0) {
    ::close(handle);
  }
  if (!ended) {
    ::kill(-pid, SIGKILL);
  }
  while (::waitpid(pid, &status, 0) < 0 && errno == EINTR) {
  }
  ::kill(-pid, SIGKILL);  // what it may have left behind
  return ended;
}

}  // namespace

HelperAnswer ask_helper(const HelperCall& call) {
  const MemoryFile in;
  const MemoryFile out;
  if (in.descriptor() < 0 || out.descriptor() < 0 || !in.fill(call.input)) {
    return {"", "no memory for the talk with " + call.program};
  }
  pid_t pid = -1;
  if (const int error = spawn(call, in, out, pid); error != 0) {
    return {"", error == ENOENT ? call.program + " is not installed"
                                : fmt::format("{} cannot be started: {}", call.program,
                                              ::strerrordesc_np(error))};
  }
  int status = 0;
  if (!wait_for(pid, call.deadline, status)) {
    return {"",
            fmt::format("{} gave no answer in {} s", call.program,
                        std::chrono::duration_cast<std::chrono::seconds>(call.deadline).count())};
  }
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
    return {"", WIFEXITED(status)
                    ? fmt::format("{} ended with code {}", call.program, WEXITSTATUS(status))
                    : fmt::format("{} was ended by signal {}", call.program, WTERMSIG(status))};
  }
  HelperAnswer answer;
  if (!out.read(answer.output)) {
    return {"", call.program + " said more than a picture needs"};
  }
  return answer;
}

}  // namespace firstglow::sim
