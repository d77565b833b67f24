#include "sim/studies/drawer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <mutex>

#include "core/error.hpp"
#include "sim/studies/fuse_fault.hpp"
#include "sim/studies/margins.hpp"
#include "sim/studies/stress_survey.hpp"

namespace firstglow::sim {
namespace {

using core::Verdict;

constexpr double kWorthSaying = 0.01;  // of a limit

int rank_of(Verdict verdict) {
  return verdict == Verdict::safe ? 0 : verdict == Verdict::no_verdict ? 1 : 2;
}

using FindingsByRule = std::map<std::pair<std::string, std::string>, core::Finding>;

FindingsByRule by_rule(const std::vector<core::Finding>& findings) {
  FindingsByRule all;
  for (const core::Finding& finding : findings) {
    all[{finding.rule, finding.part}] = finding;
  }
  return all;
}

/// Has the verdict on another part become worse, or a limit that was exceeded already more so?
bool is_worse(const FindingsByRule& old, const core::Finding& now) {
  const auto known = old.find({now.rule, now.part});
  if (known == old.end()) {
    return now.verdict != Verdict::safe;
  }
  const core::Finding& then = known->second;
  if (rank_of(now.verdict) != rank_of(then.verdict)) {
    return rank_of(now.verdict) > rank_of(then.verdict);
  }
  return now.verdict == Verdict::unsafe &&
         now.margin().value_or(0.0) < then.margin().value_or(0.0) - kWorthSaying;
}

/// Judges one row from the margins of the rig with the part in it.
void judge_row(const std::string& part, const std::vector<core::Finding>& before,
               const std::vector<core::Finding>& after, DrawerRow& row) {
  const bool judged = std::any_of(after.begin(), after.end(),
                                  [&part](const core::Finding& each) { return each.part == part; });
  row.answer = judged ? DrawerAnswer::meets : DrawerAnswer::not_known;
  row.why = judged ? "" : "no rule judges it in this rig";
  const FindingsByRule old = by_rule(before);
  for (const core::Finding& finding : after) {
    const bool own = finding.part == part;
    const bool worse = !own && is_worse(old, finding);
    if (!own && !worse) {
      continue;
    }
    const DrawerAnswer answer = finding.verdict == Verdict::unsafe       ? DrawerAnswer::fails
                                : finding.verdict == Verdict::no_verdict ? DrawerAnswer::not_known
                                                                         : DrawerAnswer::meets;
    const auto badness = [](DrawerAnswer each) {
      return each == DrawerAnswer::fails ? 2 : each == DrawerAnswer::not_known ? 1 : 0;
    };
    const auto margin = finding.margin();
    if (badness(answer) > badness(row.answer) ||
        (answer == row.answer && own && margin &&
         (!row.least_margin || *margin < *row.least_margin))) {
      row.answer = answer;
      row.closest = finding;
      row.why = own ? "" : fmt::format("with it, {} gets worse", finding.part);
    }
    if (own && margin && (!row.least_margin || *margin < *row.least_margin)) {
      row.least_margin = margin;
    }
  }
}

int order_of(DrawerAnswer answer) {
  return static_cast<int>(answer == DrawerAnswer::meets       ? 0
                          : answer == DrawerAnswer::not_known ? 1
                          : answer == DrawerAnswer::fails     ? 2
                                                              : 3);
}

bool comes_before(const DrawerRow& a, const DrawerRow& b) {
  if (order_of(a.answer) != order_of(b.answer)) {
    return order_of(a.answer) < order_of(b.answer);
  }
  if (a.fits.value_or(true) != b.fits.value_or(true)) {
    return a.fits.value_or(true);
  }
  return a.least_margin.value_or(-1e9) > b.least_margin.value_or(-1e9);
}

}  // namespace

DrawerResult drawer(const core::Rig& rig, const std::string& part,
                    const std::vector<core::StockPart>& stock, const DrawerOptions& options,
                    WorkerPool& pool) {
  FIRSTGLOW_REQUIRE(static_cast<bool>(options.with_part), "the drawer knows how to fit a part");
  DrawerResult result;
  result.part = part;
  const auto surveyed = [&](const core::Rig& each) {
    return survey_stresses(each, options.closing_angles, {}, pool);
  };
  // As margins() judges: a larger fuse must still open on a short.
  const auto judged = [&pool](const core::Rig& each, const StressSurvey& survey) {
    std::vector<core::Finding> findings = judge_survey(each, survey);
    const std::vector<core::Finding> fuses = fuse_fault_findings(each, pool);
    findings.insert(findings.end(), fuses.begin(), fuses.end());
    return findings;
  };
  const std::vector<core::Finding> before = judged(rig, surveyed(rig));
  result.over_elsewhere =
      std::count_if(before.begin(), before.end(), [&part](const core::Finding& finding) {
        return finding.part != part && finding.verdict == Verdict::unsafe;
      });
  std::map<std::string, StressSurvey> surveys;  // by what makes the circuit, not by ratings
  int done = 1;
  const int total = static_cast<int>(stock.size()) + 1;
  std::map<std::string, std::vector<core::Finding>> findings_of_row;
  for (const core::StockPart& each : stock) {
    if (options.progress) {
      options.progress(done++, total);
    }
    DrawerRow row;
    row.part = each;
    if (each.size && options.hole) {
      row.fits = core::fits_into(*each.size, *options.hole);
    }
    if (each.quantity == 0) {
      row.why = "none left";
      result.rows.push_back(std::move(row));
      continue;
    }
    try {
      const core::Rig changed = options.with_part(each);
      const std::string circuit =
          each.type + '\n' + each.value + '\n' + each.tolerance + '\n' + each.amps;
      if (!surveys.contains(circuit)) {
        surveys.emplace(circuit, surveyed(changed));
      }
      const std::vector<core::Finding> after = judged(changed, surveys.at(circuit));
      judge_row(part, before, after, row);
      findings_of_row[each.name] = after;
    } catch (const core::InputError& error) {
      row.why = error.faults().empty() ? error.what() : error.faults().front().message;
    }
    result.rows.push_back(std::move(row));
  }
  std::stable_sort(result.rows.begin(), result.rows.end(), comes_before);
  if (!result.rows.empty() && result.rows.front().answer == DrawerAnswer::meets) {
    for (const core::Finding& finding : findings_of_row[result.rows.front().part.name]) {
      if (finding.part == part) {
        result.findings.push_back(finding);
      }
    }
  }
  result.assumptions = {
      fmt::format("Margins of the whole rig with each part in place, {} closing angles.",
                  options.closing_angles),
      "Marked values and ratings are taken for true: test each part, and form old electrolytics, "
      "before fitting.",
      "Ratings not in the list are unknown: no verdict.",
  };
  return result;
}

}  // namespace firstglow::sim
