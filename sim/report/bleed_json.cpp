#include <cmath>

#include "sim/report/bleed_report.hpp"
#include "sim/report/json_document.hpp"

namespace firstglow::sim {
namespace {

Json capacitor_json(const CapacitorDischarge& capacitor) {
  Json limits = Json::array();
  for (const LimitTime& limit : capacitor.limits) {
    limits.push_back({{"limit", limit.limit},
                      {"source", json_text(limit.source)},
                      {"time_s", json_number(limit.time_s)},
                      {"never", !limit.time_s.has_value()}});
  }
  return {{"part", capacitor.part},
          {"capacitance_f", json_number(capacitor.capacitance_f)},
          {"start_v", json_number(capacitor.start_v)},
          {"start_j", json_number(capacitor.start_j)},
          {"limits", limits},
          {"curve",
           {{"time_s", json_numbers(capacitor.time_s)},
            {"volts_v", json_numbers(capacitor.volts)},
            {"energy_j", json_numbers(capacitor.joules)}}}};
}

Json case_json(const DischargeCase& one) {
  Json json{{"name", one.name},
            {"open_part", json_text(one.open_part)},
            {"worst_corner", one.worst_corner},
            {"failure", json_text(one.failure)},
            {"last_part", json_text(one.last_part)},
            {"last_s", json_number(one.last_s)},
            {"last_with_meter_s", json_number(one.last_with_meter_s)},
            {"rectifiers_conduct", one.rectifiers_conduct},
            {"capacitors", Json::array()}};
  for (const CapacitorDischarge& capacitor : one.capacitors) {
    json["capacitors"].push_back(capacitor_json(capacitor));
  }
  return json;
}

Json rebound_json(const Rebound& rebound) {
  return {{"part", rebound.part},
          {"dielectric", rebound.dielectric},
          {"absorption_share", json_number(rebound.share)},
          {"test", rebound.test},
          {"source", rebound.source},
          {"start_v", json_number(rebound.start_v)},
          {"limit_v", json_number(rebound.limit_v)},
          {"peak_v", json_number(rebound.peak_v)},
          {"above_after_s", json_number(rebound.above_after_s)},
          {"short_needed_s", json_number(rebound.short_needed_s)},
          {"curve",
           {{"time_s", json_numbers(rebound.time_s)}, {"volts_v", json_numbers(rebound.volts)}}}};
}

}  // namespace

std::string bleed_json(const core::Rig& rig, const BleedResult& result) {
  Json document = json_head(rig, Topic::bleed, bleed_verdict(result));
  document["start"] = result.start;
  document["after_switch_off"] = discharge_steps();
  document["limit"] = {{"words", result.limit.words},
                       {"source", json_text(result.limit.source)},
                       {"purpose", result.limit.purpose}};
  document["warnings"] = result.warnings;
  document["rebounds"] = Json::array();
  for (const Rebound& rebound : result.rebounds) {
    document["rebounds"].push_back(rebound_json(rebound));
  }
  document["cases"] = Json::array();
  for (const DischargeCase& one : result.cases) {
    document["cases"].push_back(case_json(one));
  }
  document["bleeders"] = Json::array();
  for (const BleederDuty& duty : result.bleeders) {
    document["bleeders"].push_back({{"part", duty.part},
                                    {"volts_dc", json_number(duty.volts_dc)},
                                    {"working_volts_v", json_number(duty.working_volts)},
                                    {"watts_w", json_number(duty.watts)},
                                    {"rated_w", json_number(duty.rated_watts)}});
  }
  document["engine_deviation"] = json_number(result.engine_deviation);
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
