#pragma once
/// @file
/// What does the bench sheet have to know? Every study it shows, each run once.

#include <optional>
#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed.hpp"
#include "sim/studies/check.hpp"
#include "sim/studies/inrush.hpp"
#include "sim/studies/margins.hpp"
#include "sim/studies/rampup.hpp"
#include "sim/studies/reform.hpp"
#include "sim/studies/scope.hpp"
#include "sim/studies/stacks.hpp"
#include "sim/studies/stick.hpp"

namespace firstglow::sim {

/// The answer of a study, or why there is none.
template <class Result>
struct Answered {
  std::optional<Result> result;
  std::string failure;
};

struct SheetAnswers {
  CheckResult check;
  Answered<RampupResult> rampup;
  Answered<MarginsResult> margins;
  Answered<BleedResult> bleed;
  Answered<StickResult> stick;
  Answered<InrushResult> inrush;
  Answered<StacksResult> stacks;
  Answered<ScopeResult> scope;
  ReformResult reform;  ///< on the bench
};

/// A study that fails as a whole leaves its reason; the others are run all the same.
/// @throws Cancelled
[[nodiscard]] SheetAnswers sheet_answers(const core::Rig& rig, const Progress& progress,
                                         WorkerPool& pool);

/// Findings of all studies with a result.
[[nodiscard]] std::vector<core::Finding> sheet_findings(const SheetAnswers& answers);

}  // namespace firstglow::sim
