#include "sim/engine/process_stubs.hpp"

#include <pwd.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): clearenv, setenv
#include <sys/timeb.h>
#include <time.h>  // NOLINT(modernize-deprecated-headers): clock as a C function
#include <unistd.h>

#include "core/error.hpp"

namespace {

bool home_was_asked = false;

// A path below a device is never a directory, so no file can be found there.
char kNoHome[] = "/dev/null";  // NOLINT: passwd wants char*

}  // namespace

extern "C" {

clock_t clock() noexcept { return 0; }

int ftime(struct timeb* now) {
  *now = {};
  return 0;
}

struct passwd* getpwuid(uid_t uid) {
  static char name[] = "worker";  // NOLINT: passwd wants char*
  static struct passwd entry {};
  home_was_asked = true;
  entry.pw_name = name;
  entry.pw_uid = uid;
  entry.pw_dir = kNoHome;
  entry.pw_shell = kNoHome;
  return &entry;
}

}  // extern "C"

namespace firstglow::sim {

void block_start_files() {
  // In this directory of the kernel nobody can make a file.
  if (chdir("/proc/self/fdinfo") != 0) {
    throw core::SimulationError("the worker needs /proc to be mounted", {});
  }
  if (clearenv() != 0 || setenv("SPICE_SCRIPTS", kNoHome, 1) != 0 ||
      setenv("LC_ALL", "C", 1) != 0) {
    throw core::SimulationError("the worker cannot set its environment", {});
  }
}

bool start_files_were_blocked() { return home_was_asked; }

}  // namespace firstglow::sim
