#include "sim/app/output_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <system_error>
#include <vector>

#include "sim/app/usage_error.hpp"

namespace firstglow::sim {
namespace {

namespace fs = std::filesystem;

std::string reason(int error) { return std::generic_category().message(error); }

/// False with errno set when not all could be written.
bool write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t done = ::write(descriptor, text.data(), text.size());
    if (done < 0) {
      if (errno == EINTR) {
        continue;
      }
      return false;
    }
    text.remove_prefix(static_cast<std::size_t>(done));
  }
  return true;
}

/// Rights of a new file as the user's mask wants them; mkstemp gives 0600.
mode_t usual_mode() {
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666U & ~mask;
}

}  // namespace

OutputFile::OutputFile(const std::string& path, const std::string& not_over) : path_(path) {
  std::error_code ignored;
  const fs::file_status status = fs::status(path, ignored);
  if (fs::exists(status) && !fs::is_regular_file(status)) {
    throw UsageError(
        fmt::format("'{}' is no regular file; name a file that may be made or replaced", path));
  }
  if (fs::equivalent(path, not_over, ignored)) {
    throw UsageError(
        fmt::format("'{}' is the record file itself; choose another file for the output", path));
  }
  if (fs::exists(status)) {
    path_ = fs::canonical(path).string();  // a link stays a link
  }
  const std::string pattern = path_ + ".part-XXXXXX";
  std::vector<char> name(pattern.begin(), pattern.end());
  name.push_back('\0');
  descriptor_ = ::mkostemp(name.data(), O_CLOEXEC);
  if (descriptor_ < 0) {
    fail("made");
  }
  temporary_ = name.data();
}

OutputFile::~OutputFile() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
  if (!temporary_.empty()) {
    ::unlink(temporary_.c_str());
  }
}

void OutputFile::fail(const char* doing) const {
  throw UsageError(fmt::format("'{}' cannot be {}: {}; choose another place for the output", path_,
                               doing, reason(errno)));
}

void OutputFile::commit(std::string_view text) {
  if (!write_all(descriptor_, text) || ::fchmod(descriptor_, usual_mode()) != 0 ||
      ::fsync(descriptor_) != 0) {
    fail("written");
  }
  if (::rename(temporary_.c_str(), path_.c_str()) != 0) {
    fail("put in its place");
  }
  temporary_.clear();
}

void write_standard_output(std::string_view text) {
  if (!write_all(STDOUT_FILENO, text) && errno != EPIPE) {
    throw UsageError(fmt::format("the standard output cannot be written: {}", reason(errno)));
  }
}

}  // namespace firstglow::sim
