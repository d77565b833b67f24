#include "sim/report/findings_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

using core::Finding;
using core::Verdict;

/// Findings of one verdict, smallest margin first; those without a margin come first of all.
std::vector<Finding> of_verdict(const std::vector<Finding>& findings, Verdict verdict) {
  std::vector<Finding> chosen;
  std::copy_if(findings.begin(), findings.end(), std::back_inserter(chosen),
               [verdict](const Finding& finding) { return finding.verdict == verdict; });
  std::stable_sort(chosen.begin(), chosen.end(), [](const Finding& a, const Finding& b) {
    const auto left = a.margin(), right = b.margin();
    return left && right ? *left < *right : (!left && right);
  });
  return chosen;
}

std::string value_words(const std::optional<double>& value, const std::string& unit) {
  return value ? with_unit(*value, unit) : "not known";
}

std::string when_words(const Finding& finding) {
  if (!finding.at_s) {
    return finding.situation;
  }
  return finding.situation.empty()
             ? fmt::format("after {}", instant(*finding.at_s))
             : fmt::format("{}, after {}", finding.situation, instant(*finding.at_s));
}

/// "C1: peak volts 612 V, limit 525 V: 17 % OVER", as far as the numbers are known.
std::string over_words(const Finding& finding) {
  std::string text = fmt::format("{}: {}", finding.part, finding.quantity);
  if (finding.value) {
    text += fmt::format(" {}", with_unit(*finding.value, finding.unit));
  }
  if (finding.limit) {
    text += fmt::format(", {} {}", finding.limit_is_least ? "at least" : "limit",
                        with_unit(*finding.limit, finding.unit));
  }
  if (const auto margin = finding.margin(); margin && *margin < 0.0) {
    text += ": " + margin_words(finding);
  }
  return text;
}

void add_unsafe(Page& page, const std::vector<Finding>& findings) {
  page.heading("OVER THE LIMIT: no power until this is changed");
  int number = 0;
  for (const Finding& finding : findings) {
    page.item(fmt::format("{}.", ++number), over_words(finding));
    if (const std::string when = when_words(finding); !when.empty()) {
      page.item("when:", when, 3);
    }
    if (!finding.limit_source.empty()) {
      page.item("limit from:", source_words(finding.limit_source), 3);
    }
    if (!finding.note.empty()) {
      page.item("note:", finding.note, 3);
    }
  }
}

void add_no_verdict(Page& page, const std::vector<Finding>& findings) {
  page.heading("NO VERDICT: treat as over the limit until it is known");
  for (const Finding& finding : findings) {
    std::string text = fmt::format("{}: {}", finding.part, finding.quantity);
    if (finding.value) {
      text += fmt::format(" {}", with_unit(*finding.value, finding.unit));
    }
    if (finding.limit) {
      text += fmt::format(", limit {}", with_unit(*finding.limit, finding.unit));
    }
    page.item("?", text);
    if (const std::string when = when_words(finding); finding.value && !when.empty()) {
      page.item("when:", when, 2);
    }
    page.item("missing:", finding.note.empty() ? "the limit is not in the record" : finding.note,
              2);
  }
}

/// The source that most of the findings share.
std::string usual_source(const std::vector<Finding>& findings) {
  std::string usual;
  std::ptrdiff_t most = 0;
  for (const Finding& finding : findings) {
    const auto count = std::count_if(
        findings.begin(), findings.end(),
        [&finding](const Finding& other) { return other.limit_source == finding.limit_source; });
    if (count > most) {
      most = count;
      usual = finding.limit_source;
    }
  }
  return usual;
}

}  // namespace

std::string margin_words(const Finding& finding) {
  const auto margin = finding.margin();
  if (!margin) {
    return {};
  }
  if (finding.limit_is_least) {
    return *margin < 0.0 ? fmt::format("{} TOO LITTLE", percent(-*margin))
                         : fmt::format("{} above", percent(*margin));
  }
  return *margin < 0.0 ? fmt::format("{} OVER", percent(-*margin))
                       : fmt::format("{} below", percent(*margin));
}

void add_result_line(Page& page, const std::vector<Finding>& findings, Verdict overall) {
  const auto count = [&findings](Verdict verdict) {
    return std::count_if(findings.begin(), findings.end(),
                         [verdict](const Finding& finding) { return finding.verdict == verdict; });
  };
  const auto unsafe = count(Verdict::unsafe), unknown = count(Verdict::no_verdict);
  std::string text;
  if (findings.empty()) {
    text = "RESULT: NO VERDICT. Nothing could be judged.";
  } else if (unsafe > 0) {
    text = fmt::format("RESULT: UNSAFE. {} of {} limits exceeded", unsafe, findings.size());
    text += unknown > 0 ? fmt::format("; {} more without a verdict.", unknown) : ".";
  } else if (unknown > 0) {
    text = fmt::format(
        "RESULT: NO VERDICT. {} of {} limits could not be judged; of the others none is "
        "exceeded.",
        unknown, findings.size());
  } else if (overall != Verdict::safe) {
    text = fmt::format(
        "RESULT: NO VERDICT. Some runs gave no answer; of {} limits judged none is exceeded.",
        findings.size());
  } else {
    text = fmt::format("RESULT: no limit exceeded, of {} judged, under the assumptions below.",
                       findings.size());
  }
  page.blank().text(text, 0, 8);
}

void add_problems(Page& page, const std::vector<Finding>& findings) {
  if (const auto unsafe = of_verdict(findings, Verdict::unsafe); !unsafe.empty()) {
    add_unsafe(page, unsafe);
  }
  if (const auto unknown = of_verdict(findings, Verdict::no_verdict); !unknown.empty()) {
    add_no_verdict(page, unknown);
  }
}

void add_kept_limits(Page& page, const std::vector<Finding>& findings) {
  const auto kept = of_verdict(findings, Verdict::safe);
  if (kept.empty()) {
    return;
  }
  const std::string usual = usual_source(kept);
  page.heading("LIMIT KEPT, under the assumptions below; smallest margin first");
  if (!usual.empty()) {
    page.text(fmt::format("Limit from: {}, where nothing else is said.", source_words(usual)))
        .blank();
  }
  Table table({{"part"},
               {"what, when"},
               {"worst", Align::right},
               {"limit", Align::right},
               {"margin", Align::right}});
  for (const Finding& finding : kept) {
    std::string what = finding.quantity;
    if (const std::string when = when_words(finding); !when.empty()) {
      what += fmt::format("; {}", when);
    }
    if (finding.limit_source != usual) {
      what += fmt::format("; limit from: {}", finding.limit_source.empty()
                                                  ? "not said"
                                                  : source_words(finding.limit_source));
    }
    const auto margin = finding.margin();
    table.row({finding.part, what, value_words(finding.value, finding.unit),
               (finding.limit_is_least ? ">= " : "") + value_words(finding.limit, finding.unit),
               margin ? percent(*margin) : ""});
  }
  page.table(table);
}

}  // namespace firstglow::sim
