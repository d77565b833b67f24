#include "sim/engine/lockdown.hpp"

#include <seccomp.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <memory>

#include "core/error.hpp"

#if defined(__SANITIZE_ADDRESS__)
#define FIRSTGLOW_ADDRESS_SANITIZER 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define FIRSTGLOW_ADDRESS_SANITIZER 1
#endif
#endif

namespace firstglow::sim {
namespace {

#ifdef FIRSTGLOW_ADDRESS_SANITIZER
constexpr bool kAddressSanitizer = true;
#else
constexpr bool kAddressSanitizer = false;
#endif

// Far above a run of the largest allowed result, far below what hurts a small machine.
constexpr rlim_t kMemoryBytes = rlim_t{3} << 30;

void limit(__rlimit_resource_t resource, rlim_t value, const char* what) {
  const rlimit both{value, value};
  if (setrlimit(resource, &both) != 0) {
    throw core::SimulationError(std::string("the worker cannot limit ") + what, {});
  }
}

struct ReleaseFilter {
  void operator()(void* filter) const { seccomp_release(filter); }
};

void require_zero(int result) {
  if (result != 0) {
    throw core::SimulationError("the worker cannot set up its system call filter", {});
  }
}

/// Needed by the solver, the C library's memory and stdio, an abort, and the answer.
constexpr int kAllowed[] = {SCMP_SYS(read),           SCMP_SYS(write),
                            SCMP_SYS(writev),         SCMP_SYS(close),
                            SCMP_SYS(fstat),          SCMP_SYS(newfstatat),
                            SCMP_SYS(lseek),          SCMP_SYS(brk),
                            SCMP_SYS(munmap),         SCMP_SYS(mremap),
                            SCMP_SYS(madvise),        SCMP_SYS(futex),
                            SCMP_SYS(sched_yield),    SCMP_SYS(clock_gettime),
                            SCMP_SYS(clock_getres),   SCMP_SYS(gettimeofday),
                            SCMP_SYS(time),           SCMP_SYS(times),
                            SCMP_SYS(getrusage),      SCMP_SYS(getpid),
                            SCMP_SYS(gettid),         SCMP_SYS(getrandom),
                            SCMP_SYS(sigaltstack),    SCMP_SYS(rt_sigaction),
                            SCMP_SYS(rt_sigprocmask), SCMP_SYS(rt_sigreturn),
                            SCMP_SYS(exit),           SCMP_SYS(exit_group),
                            SCMP_SYS(restart_syscall)};

/// One condition on an argument of a call (the library's own macros are not C++).
scmp_arg_cmp when(unsigned argument, scmp_compare compare, scmp_datum_t a, scmp_datum_t b = 0) {
  return {argument, compare, a, b};
}

/// Memory may be mapped or re-protected, but never made executable.
void allow_data_memory(scmp_filter_ctx filter) {
  const scmp_arg_cmp no_execution = when(2, SCMP_CMP_MASKED_EQ, PROT_EXEC, 0);
  for (const int call : {SCMP_SYS(mmap), SCMP_SYS(mprotect)}) {
    require_zero(seccomp_rule_add_array(filter, SCMP_ACT_ALLOW, call, 1, &no_execution));
  }
}

void filter_system_calls() {
  const std::unique_ptr<void, ReleaseFilter> filter(seccomp_init(SCMP_ACT_ERRNO(EPERM)));
  if (filter == nullptr) {
    require_zero(-1);
  }
  for (const int call : kAllowed) {
    require_zero(seccomp_rule_add(filter.get(), SCMP_ACT_ALLOW, call, 0));
  }
  // An abort sends its signal to this process and to no other.
  const scmp_arg_cmp own = when(0, SCMP_CMP_EQ, static_cast<scmp_datum_t>(getpid()));
  require_zero(seccomp_rule_add_array(filter.get(), SCMP_ACT_ALLOW, SCMP_SYS(tgkill), 1, &own));
  allow_data_memory(filter.get());
  require_zero(seccomp_load(filter.get()));
}

}  // namespace

void follow_parent(int parent_pid) {
  std::signal(SIGINT, SIG_IGN);   // NOLINT(cert-err33-c)
  std::signal(SIGPIPE, SIG_IGN);  // NOLINT(cert-err33-c)
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent_pid) {
    _exit(1);
  }
}

void lock_down() {
  limit(RLIMIT_CORE, 0, "core files");
  // The sanitizer reserves terabytes of addresses.
  if (!kAddressSanitizer) {
    limit(RLIMIT_AS, kMemoryBytes, "its memory");
  }
  limit(RLIMIT_NOFILE, 0, "open files");
  filter_system_calls();
}

}  // namespace firstglow::sim
