#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/margins_report.hpp"

namespace firstglow::sim {

core::Verdict margins_verdict(const MarginsResult& result) {
  return core::worst_verdict(result.findings);
}

std::string margins_text(const core::Rig& rig, const MarginsResult& result,
                         const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::margins);
  add_result_line(page, result.findings, margins_verdict(result));
  add_problems(page, result.findings);
  add_kept_limits(page, result.findings);
  if (!result.situations.empty()) {
    page.heading("SITUATIONS TRIED");
    for (const std::string& situation : result.situations) {
      page.item("-", situation);
    }
  }
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
