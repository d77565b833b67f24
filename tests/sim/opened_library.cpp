/// @file
/// Test only: a shared library whose constructor makes a file `x` beside itself, to see whether
/// it was loaded.

#include <dlfcn.h>

#include <cstdio>
#include <string>

namespace {

struct Mark {
  Mark() {
    static int here = 0;
    Dl_info info{};
    if (dladdr(&here, &info) == 0) {
      return;
    }
    const std::string self = info.dli_fname;
    if (std::FILE* file = std::fopen((self.substr(0, self.rfind('/')) + "/x").c_str(), "w")) {
      std::fclose(file);
    }
  }
};
const Mark kMark;

}  // namespace
