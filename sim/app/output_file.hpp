#pragma once
/// @file
/// How does a file come into being whole or not at all?

#include <string>
#include <string_view>

namespace firstglow::sim {

/// A file written under a temporary name beside its place and put there by commit(); without
/// commit() nothing is left behind and what was there before stays.
class OutputFile {
 public:
  /// Fails early, before hours of work, when the place cannot be written.
  /// @param not_over  a file that must not be replaced: the record
  /// @throws UsageError
  OutputFile(const std::string& path, const std::string& not_over);
  ~OutputFile();
  OutputFile(const OutputFile&) = delete;
  OutputFile& operator=(const OutputFile&) = delete;

  /// @throws UsageError  when the text cannot be written to the end, e.g. the disk is full.
  void commit(std::string_view text);

 private:
  [[noreturn]] void fail(const char* doing) const;

  std::string path_, temporary_;
  int descriptor_ = -1;
};

/// Writes all of the text to the standard output. A reader that went away is no error.
/// @throws UsageError  on any other trouble.
void write_standard_output(std::string_view text);

}  // namespace firstglow::sim
