#include <fmt/format.h>

#include "netlists/situation.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/swap_report.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json finding_or_null(const std::optional<core::Finding>& finding) {
  return finding ? json_findings({*finding}).front() : Json(nullptr);
}

}  // namespace

std::string swap_json(const core::Rig& rig, const SwapResult& result) {
  Json document = json_head(rig, Topic::swap, swap_verdict(result));
  Json readings = Json::array();
  for (const SwapReading& reading : result.readings) {
    readings.push_back({{"stage", netlists::stage_key(reading.stage)},
                        {"node", reading.node},
                        {"before_v", json_number(reading.before_v)},
                        {"after_v", json_number(reading.after_v)},
                        {"before_ripple_v", json_number(reading.before_vpp)},
                        {"after_ripple_v", json_number(reading.after_vpp)}});
  }
  document["supplies"] = readings;
  Json rises = Json::array();
  for (const SwapRise& rise : result.rises) {
    rises.push_back({{"node", rise.node},
                     {"before_s", json_number(rise.before_s)},
                     {"after_s", json_number(rise.after_s)},
                     {"before_peak_v", json_number(rise.before_peak_v)},
                     {"after_peak_v", json_number(rise.after_peak_v)}});
  }
  document["rises"] = rises;
  document["series"] = Json(nullptr);
  if (result.series) {
    document["series"] = {{"node", result.series->node},
                          {"resistance_ohm", json_number(result.series->ohm)},
                          {"power_w", json_number(result.series->watts)},
                          {"loaded_v", json_number(result.series->loaded_v)},
                          {"unloaded_v", json_number(result.series->unloaded_v)}};
  }
  Json margins = Json::array();
  for (const MarginChange& change : result.margins) {
    margins.push_back(
        {{"before", finding_or_null(change.before)}, {"after", finding_or_null(change.after)}});
  }
  document["margins"] = margins;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string swap_csv(const SwapResult& result) {
  std::string text = "stage,node,before_v,after_v,before_ripple_v,after_ripple_v\r\n";
  for (const SwapReading& reading : result.readings) {
    text += fmt::format("{},{},{},{},{},{}\r\n", netlists::stage_key(reading.stage),
                        csv_field(reading.node), csv_number(reading.before_v),
                        csv_number(reading.after_v), csv_number(reading.before_vpp),
                        csv_number(reading.after_vpp));
  }
  return text;
}

}  // namespace firstglow::sim
