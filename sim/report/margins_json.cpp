#include "sim/report/json_document.hpp"
#include "sim/report/margins_report.hpp"

namespace firstglow::sim {

std::string margins_json(const core::Rig& rig, const MarginsResult& result) {
  Json document = json_head(rig, Topic::margins, margins_verdict(result));
  document["findings"] = json_findings(result.findings);
  document["situations"] = result.situations;
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
