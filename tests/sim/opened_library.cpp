/// @file
/// Test only: a shared library whose constructor leaves a mark, to see whether it was loaded.

#include <cstdio>

namespace {

struct Mark {
  Mark() {
    if (std::FILE* file = std::fopen(FIRSTGLOW_MARK_FILE, "w")) {
      std::fclose(file);
    }
  }
};
const Mark mark;

}  // namespace
