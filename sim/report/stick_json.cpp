#include "sim/report/json_document.hpp"
#include "sim/report/stick_report.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json shot_json(const StickShot& shot) {
  return {
      {"part", shot.part},
      {"start_v", json_number(shot.start_v)},
      {"capacitance_f", json_number(shot.capacitance_f)},
      {"peak_a", json_number(shot.peak_a)},
      {"peak_w", json_number(shot.peak_w)},
      {"stick_j", json_number(shot.joules)},
      {"limit_s", json_number(shot.limit_s)},
      {"left_v", json_number(shot.left_v)},
      {"hook_s", json_number(shot.hook_s)},
      {"hard_short",
       {{"resistance_ohm", json_number(shot.hard.ohm)},
        {"peak_a", json_number(shot.hard.peak_a)},
        {"peak_s", json_number(shot.hard.peak_s)},
        {"energy_j", json_number(shot.hard.joules)},
        {"i2t_a2s", json_number(shot.hard.i2t)}}},
      {"curve", {{"time_s", json_numbers(shot.time_s)}, {"volts_v", json_numbers(shot.volts)}}}};
}

}  // namespace

std::string stick_json(const core::Rig& rig, const StickResult& result) {
  Json document = json_head(rig, Topic::stick, stick_verdict(result));
  document["stick"] = {{"resistance_ohm", json_number(result.ohm)},
                       {"worked_out", result.worked_out},
                       {"needed_w", json_number(result.watts)},
                       {"given_w", json_number(result.given_watts)},
                       {"working_v", json_number(result.working_v)}};
  document["limit"] = result.limit.words;
  document["within_s"] = json_number(result.within_s);
  document["after_switch_off"] = discharge_steps();
  document["shots"] = Json::array();
  for (const StickShot& shot : result.shots) {
    document["shots"].push_back(shot_json(shot));
  }
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string stick_csv(const StickResult& result) {
  std::vector<Trace> traces;
  for (const StickShot& shot : result.shots) {
    traces.push_back({"stick on " + shot.part, "V", shot.time_s, shot.volts});
  }
  return traces_csv(traces);
}

}  // namespace firstglow::sim
