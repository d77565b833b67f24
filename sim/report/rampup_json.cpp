#include "sim/report/json_document.hpp"
#include "sim/report/rampup_report.hpp"

namespace firstglow::sim {
namespace {

Json node_json(const NodeReading& node) {
  return {{"node", node.node},
          {"main_dc", node.main_dc},
          {"dc_v", json_band(node.dc_v)},
          {"dc_per_mains_volt", json_band(node.per_mains_volt)},
          {"ac_v_rms", json_number(node.ac_vrms)},
          {"ripple_v_pp", json_number(node.ripple_vpp)}};
}

Json heat_json(const PartHeat& heat) {
  return {{"part", heat.part},
          {"watts_w", json_band(heat.watts)},
          {"rated_w", json_number(heat.rated_watts)}};
}

Json midpoint_json(const MidpointReading& midpoint) {
  return {{"node", midpoint.node},
          {"top", midpoint.top},
          {"bottom", midpoint.bottom},
          {"fraction", json_band(midpoint.fraction)}};
}

Json regulator_json(const RegulatorReading& regulator) {
  return {{"part", regulator.part},
          {"lit", regulator.lit},
          {"lit_in_all", regulator.lit_in_all},
          {"lit_in_some", regulator.lit_in_some},
          {"dc_v", json_number(regulator.volts)}};
}

Json stop_json(const StopIf& stop) {
  return {{"reading", stop.reading},
          {"unit", stop.unit},
          {"below", json_number(stop.below)},
          {"above", json_number(stop.above)},
          {"why", json_text(stop.why)}};
}

template <class T, class Make>
Json array_of(const std::vector<T>& items, const Make& make) {
  Json all = Json::array();
  for (const T& item : items) {
    all.push_back(make(item));
  }
  return all;
}

Json lamp_json(const std::optional<LampReading>& lamp) {
  if (!lamp) {
    return nullptr;
  }
  return {{"volts_v_rms", json_band(lamp->volts)},
          {"watts_w", json_band(lamp->watts)},
          {"percent_of_rated", json_number(lamp->percent_of_rated)}};
}

/// A failed step has its dial setting and the reason, and no reading at all.
Json step_json(const RampStep& step) {
  Json json{{"variac_v_rms", json_number(step.variac_vrms)},
            {"failure", json_text(step.failure)},
            {"remarks", step.remarks}};
  if (!step.failure.empty()) {
    return json;
  }
  json["mains_a_rms"] = json_band(step.mains_a);
  json["mains_w"] = json_band(step.mains_w);
  json["lamp"] = lamp_json(step.lamp);
  json["nodes"] = array_of(step.nodes, node_json);
  json["midpoints"] = array_of(step.midpoints, midpoint_json);
  json["regulators"] = array_of(step.regulators, regulator_json);
  json["heats"] = array_of(step.heats, heat_json);
  json["stop_if"] = array_of(step.stop_if, stop_json);
  return json;
}

Json pass_json(const RampPass& pass) {
  return {{"stage", netlists::stage_key(pass.stage)},
          {"with_lamp", pass.with_lamp},
          {"gates", pass.gates},
          {"steps", array_of(pass.steps, step_json)}};
}

Json advice_json(const LampAdvice& lamp) {
  return {{"stage", netlists::stage_key(lamp.stage)},
          {"rated_w", json_number(lamp.rated_watts)},
          {"good_percent", json_number(lamp.good_percent)},
          {"short_percent", json_number(lamp.short_percent)},
          {"suggested", lamp.suggested},
          {"why", json_text(lamp.why)}};
}

}  // namespace

std::string rampup_json(const core::Rig& rig, const RampupResult& result) {
  Json document = json_head(rig, Topic::rampup, rampup_verdict(result));
  document["passes"] = array_of(result.passes, pass_json);
  document["lamps"] = array_of(result.lamps, advice_json);
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
