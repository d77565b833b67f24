#include "sim/app/interrupts.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>

#include "sim/engine/cancel.hpp"

namespace firstglow::sim {
namespace {

volatile std::sig_atomic_t asked_by = 0;

void ask_to_stop(int signal) {
  asked_by = signal;
  request_cancel();
}

}  // namespace

void handle_interrupts() {
  struct sigaction action {};
  action.sa_handler = ask_to_stop;
  action.sa_flags = static_cast<int>(SA_RESETHAND) | SA_RESTART;
  sigemptyset(&action.sa_mask);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
    struct sigaction before {};
    // What the caller told us to ignore (nohup, a background job) stays ignored.
    if (::sigaction(signal, nullptr, &before) == 0 && before.sa_handler != SIG_IGN) {
      ::sigaction(signal, &action, nullptr);
    }
  }
  struct sigaction ignore {};
  ignore.sa_handler = SIG_IGN;
  ::sigaction(SIGPIPE, &ignore, nullptr);
}

int interrupt_exit_code() { return 128 + (asked_by != 0 ? static_cast<int>(asked_by) : SIGINT); }

void reserve_standard_streams() {
  for (int number = STDIN_FILENO; number <= STDERR_FILENO; ++number) {
    if (::fcntl(number, F_GETFD) == -1) {
      // Takes the lowest free number, which is `number`; reading only, so that output to a
      // closed stream still fails.
      static_cast<void>(::open("/dev/null", O_RDONLY));
    }
  }
}

}  // namespace firstglow::sim
