#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <vector>

#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/at_once.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/sheet_plots.hpp"
#include "sim/report/shown_text.hpp"

namespace firstglow::sim {
namespace {

using core::Finding;
using core::Verdict;

constexpr double kRoomy = 0.5;  ///< margin from which a kept limit is said in short

std::string value_words(const std::optional<double>& value, const std::string& unit) {
  return value ? with_unit(*value, unit) : "not known";
}

std::string when_words(const Finding& finding) {
  std::string words = finding.situation;
  if (finding.at_s) {
    words += (words.empty() ? "after " : ", after ") + instant(*finding.at_s);
  }
  return words.empty() ? "-" : words;
}

/// The same part, rule and situation may be judged by several studies.
bool same(const Finding& a, const Finding& b) {
  return a.rule == b.rule && a.part == b.part && a.quantity == b.quantity && a.value == b.value &&
         a.limit == b.limit && a.note == b.note;
}

/// Findings of one verdict, each once, smallest margin first; without a margin before all.
std::vector<Finding> of_verdict(const std::vector<Finding>& all, Verdict verdict) {
  std::vector<Finding> chosen;
  for (const Finding& one : all) {
    const bool known = std::any_of(chosen.begin(), chosen.end(),
                                   [&one](const Finding& other) { return same(one, other); });
    if (one.verdict == verdict && !known) {
      chosen.push_back(one);
    }
  }
  std::stable_sort(chosen.begin(), chosen.end(), [](const Finding& a, const Finding& b) {
    const auto left = a.margin(), right = b.margin();
    return left && right ? *left < *right : (!left && right);
  });
  return chosen;
}

void put_findings(Html& html, const std::string& caption, const std::vector<Finding>& findings,
                  bool with_note) {
  HtmlTable table(caption, {{"Part"},
                            {"What, and when"},
                            {"Worst", HtmlColumnKind::number},
                            {"Limit", HtmlColumnKind::number},
                            {"Margin", HtmlColumnKind::number},
                            {with_note ? "Limit from; what to do" : "Limit from"}});
  for (const Finding& finding : findings) {
    const std::string source =
        finding.limit_source.empty() ? "not said" : source_words(finding.limit_source);
    table.row(
        {finding.part.empty() ? "-" : finding.part,
         fmt::format("{}; {}", finding.quantity, when_words(finding)),
         value_words(finding.value, finding.unit),
         (finding.limit_is_least ? "at least " : "") + value_words(finding.limit, finding.unit),
         finding.margin() ? margin_words(finding) : "?",
         with_note && !finding.note.empty() ? source + "; " + finding.note : source});
  }
  html.table(table);
}

/// Kept limits: those with little room at length, the others in short.
void put_kept(Html& html, const std::vector<Finding>& kept) {
  std::vector<Finding> close;
  HtmlTable roomy(
      "Limit kept with more than half of it in hand",
      {{"Part"}, {"What"}, {"Worst", HtmlColumnKind::number}, {"Limit", HtmlColumnKind::number}});
  for (const Finding& finding : kept) {
    if (finding.margin().value_or(0.0) < kRoomy) {
      close.push_back(finding);
    } else {
      roomy.row(
          {finding.part, finding.quantity, value_words(finding.value, finding.unit),
           (finding.limit_is_least ? "at least " : "") + value_words(finding.limit, finding.unit)});
    }
  }
  put_findings(html, "Limit kept, under the assumptions; smallest margin first", close, false);
  html.table(roomy);
}

}  // namespace

Markup margins_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"margins", "Margins"});
  const std::vector<Finding> all = sheet_findings(input.answers);
  const std::vector<Finding> unsafe = of_verdict(all, Verdict::unsafe);
  const std::vector<Finding> unknown = of_verdict(all, Verdict::no_verdict);
  for (const std::string* failure :
       {&input.answers.rampup.failure, &input.answers.margins.failure, &input.answers.bleed.failure,
        &input.answers.stick.failure, &input.answers.inrush.failure,
        &input.answers.stacks.failure}) {
    if (!failure->empty()) {
      put_no_answer(html, *failure);
    }
  }
  put_findings(html, "OVER THE LIMIT: no power until this is changed", unsafe, true);
  put_findings(html, "NO VERDICT: treat as over the limit until it is known", unknown, true);
  if (unsafe.empty() && unknown.empty()) {
    html.paragraph("Nothing judged is over its limit, and nothing judged is without a verdict.");
  }
  put_kept(html, of_verdict(all, Verdict::safe));
  html.paragraph("A rating kept speaks of the part, never of the person.");
  html.close();
  return html.take();
}

Markup picture_page(const SheetInput& input) {
  const SheetAnswers& answers = input.answers;
  std::vector<std::function<Markup()>> pictures;
  /// A picture of an answer, or why there is none.
  const auto add = [&pictures](const auto& answered, auto draw) {
    pictures.emplace_back([&answered, draw] {
      if (answered.result) {
        return draw(*answered.result);
      }
      Html none;
      put_no_answer(none, answered.failure);
      return none.take();
    });
  };
  add(answers.rampup, [](const RampupResult& ramp) { return ramp_plot(ramp); });
  if (answers.rampup.result) {
    add(answers.rampup, [](const RampupResult& ramp) { return lamp_plot(ramp); });
  }
  add(answers.margins,
      [&input](const MarginsResult& margins) { return switch_on_plot(input.rig, margins); });
  add(answers.inrush,
      [&input](const InrushResult& inrush) { return inrush_plot(input.rig, inrush); });
  add(answers.scope, [](const ScopeResult& scope) { return scope_plot(scope); });
  pictures.emplace_back([&answers] { return reform_plot(answers.reform); });

  Html html;
  begin_page(html, {"pictures", "What to expect, as pictures"});
  for (const Markup& picture : made_at_once(pictures)) {
    html.paste(picture);
  }
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
