#pragma once
/// @file
/// How are judged ratings said: worst first, then what nobody knows, then what is kept?

#include <string>
#include <vector>

#include "core/finding.hpp"
#include "sim/report/page.hpp"

namespace firstglow::sim {

/// "RESULT: UNSAFE. 2 of 31 ..." in one paragraph. `overall` is the verdict of the whole answer,
/// which is worse than that of the findings when a run failed.
void add_result_line(Page& page, const std::vector<core::Finding>& findings, core::Verdict overall);

/// Over the limit (a block each), then no verdict (what is missing); left out when empty.
/// Unsafe findings are sorted by margin, smallest first.
void add_problems(Page& page, const std::vector<core::Finding>& findings);

/// Limits that are kept, a table, smallest margin first; left out when empty.
void add_kept_limits(Page& page, const std::vector<core::Finding>& findings);

/// "17 % OVER the limit", "12 % below the limit"; empty when there is no number.
[[nodiscard]] std::string margin_words(const core::Finding& finding);

}  // namespace firstglow::sim
