#pragma once
/// @file
/// What does the program's exit code mean? Told to users in docs/firstglow.1.md.

#include "core/finding.hpp"

namespace firstglow::sim {

inline constexpr int kNothingUnsafe = 0;
inline constexpr int kSomethingUnsafe = 1;
inline constexpr int kUsage = 2;      ///< wrong command line, or the output cannot be written
inline constexpr int kInput = 3;      ///< the record file must be changed
inline constexpr int kNoVerdict = 4;  ///< something could not be judged, nothing else is unsafe
inline constexpr int kOurBug = 70;

[[nodiscard]] constexpr int exit_code_of(core::Verdict verdict) {
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
