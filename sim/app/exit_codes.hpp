#pragma once
/// @file
/// What does the program's exit code mean? Told to users in docs/firstglow.1.md.

#include "core/finding.hpp"

namespace firstglow::sim {

enum ExitCode : int {
  kNothingUnsafe = 0,
  kSomethingUnsafe = 1,
  kUsage = 2,      ///< wrong command line, or a place where the output cannot be written
  kInput = 3,      ///< the record file must be changed
  kNoVerdict = 4,  ///< something could not be judged, nothing else is unsafe
  kOurBug = 70,
};

[[nodiscard]] constexpr ExitCode exit_code_of(core::Verdict verdict) {
  switch (verdict) {
    case core::Verdict::safe:
      return kNothingUnsafe;
    case core::Verdict::unsafe:
      return kSomethingUnsafe;
    case core::Verdict::no_verdict:
      break;
  }
  return kNoVerdict;
}

}  // namespace firstglow::sim
