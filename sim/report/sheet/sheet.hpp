#pragma once
/// @file
/// What does a person take to the bench: the whole sheet as one page that needs nothing else.

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/sheet/sheet_facts.hpp"
#include "sim/studies/sheet_answers.hpp"

namespace firstglow::sim {

/// What is written on the front page; empty: a blank to fill in.
struct SheetHead {
  std::string date;
  std::string operator_name, watcher, cut_off;
};

struct SheetInput {
  const core::Rig& rig;
  const SheetAnswers& answers;
  SheetHead head;
  SheetFacts facts;
};

/// The page: markup, styles, script and pictures in one file. Nothing of the record can become
/// markup or script: text is escaped, and the policy in the page's head forbids whatever is not
/// this program's own.
/// @throws Cancelled
[[nodiscard]] std::string sheet_html(const SheetInput& input);

/// Worst verdict of all that stands on the sheet; a study without an answer is no verdict.
[[nodiscard]] core::Verdict sheet_verdict(const SheetAnswers& answers);

}  // namespace firstglow::sim
