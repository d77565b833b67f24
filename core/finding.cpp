#include "core/finding.hpp"

namespace firstglow::core {

Verdict worst_verdict(const std::vector<Finding>& findings) {
  if (findings.empty()) {
    return Verdict::no_verdict;
  }
  Verdict worst = Verdict::safe;
  for (const Finding& finding : findings) {
    if (finding.verdict == Verdict::unsafe) {
      return Verdict::unsafe;
    }
    if (finding.verdict == Verdict::no_verdict) {
      worst = Verdict::no_verdict;
    }
  }
  return worst;
}

const char* to_words(Verdict verdict) {
  switch (verdict) {
    case Verdict::safe:
      return "safe";
    case Verdict::unsafe:
      return "unsafe";
    case Verdict::no_verdict:
      break;
  }
  return "no verdict";
}

}  // namespace firstglow::core
