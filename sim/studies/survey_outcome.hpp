#pragma once
/// @file
/// What did one situation of a survey give, and what follows from it for the copies in a stack?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/studies/part_stress.hpp"
#include "sim/studies/stack_mirror.hpp"

namespace firstglow::sim {

/// Stresses of one run with the words for it; or why there is no answer.
struct SurveyOutcome {
  std::vector<Stress> stresses;
  bool transient = false;
  std::string words;
  std::string failure;
  netlists::Situation situation;
};

/// Stresses of every outcome; none where the run failed.
[[nodiscard]] std::vector<std::vector<Stress>> stresses_in(
    const std::vector<SurveyOutcome>& outcomes);

/// Reads the outcomes of the copies in a stack off those of its first section.
class OutcomeMirror {
 public:
  explicit OutcomeMirror(const core::Rig& rig) : rig_(rig), stacks_(rig) {}

  [[nodiscard]] const StackMirror& stacks() const { return stacks_; }

  /// Those of the parts whose tolerance has to be run: copies are read off the others.
  [[nodiscard]] std::vector<std::string> own_parts(std::vector<std::string> parts) const;

  /// Outcomes of single_corners(parts) from those of single_corners(own_parts(parts)).
  [[nodiscard]] std::vector<SurveyOutcome> with_copies(const std::vector<std::string>& parts,
                                                       const std::vector<SurveyOutcome>& own) const;

  [[nodiscard]] SurveyOutcome mirrored(SurveyOutcome outcome, const StackMirror::Swap& swap) const;

 private:
  [[nodiscard]] int index_of(const std::string& designator) const;

  const core::Rig& rig_;
  StackMirror stacks_;
};

}  // namespace firstglow::sim
