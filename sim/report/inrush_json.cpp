#include "sim/report/inrush_report.hpp"
#include "sim/report/json_document.hpp"

namespace firstglow::sim {
namespace {

Json point_json(const InrushPoint& point) {
  Json json{{"angle_deg", json_number(point.angle_deg)}, {"failure", json_text(point.failure)}};
  if (!point.failure.empty()) {
    return json;
  }
  json["remanence"] = json_number(point.remanence);
  json["first_cycle_peak_a"] = json_number(point.first_cycle_peak_a);
  json["first_cycle_rms_a"] = json_number(point.first_cycle_rms_a);
  json["first_cycle_i2t_a2s"] = json_number(point.first_cycle_i2t);
  json["first_second_peak_a"] = json_number(point.first_second_peak_a);
  json["first_second_rms_a"] = json_number(point.first_second_rms_a);
  json["first_second_i2t_a2s"] = json_number(point.first_second_i2t);
  json["worst_rectifier_peak_a"] = json_number(point.worst_rectifier_peak_a);
  json["worst_rectifier"] = json_text(point.worst_rectifier);
  return json;
}

}  // namespace

std::string inrush_json(const core::Rig& rig, const InrushResult& result) {
  Json document = json_head(rig, Topic::inrush, inrush_verdict(result));
  document["points"] = Json::array();
  for (const InrushPoint& point : result.points) {
    document["points"].push_back(point_json(point));
  }
  document["steady_mains_a_rms"] = json_number(result.steady_mains_a);
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
