#include <fmt/format.h>

#include "sim/report/course_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json step_json(const CourseStep& step) {
  return {{"variac_v_rms", json_number(step.dial_vrms)},
          {"start_s", json_number(step.start_s)},
          {"end_s", json_number(step.end_s)},
          {"settled_after_s", json_number(step.settled_s)},
          {"remarks", step.remarks}};
}

Json reading_json(const CourseResult& result, const CourseReading& reading) {
  Json nodes = Json::array();
  for (std::size_t i = 0; i < reading.nodes.size(); ++i) {
    if (const auto& node = reading.nodes[i]) {
      nodes.push_back({{"node", result.nodes.at(i)},
                       {"mean_v", json_number(node->mean_v)},
                       {"ac_v_rms", json_number(node->ac_vrms)},
                       {"ripple_v_pp", json_number(node->vpp)}});
    }
  }
  Json parts = Json::array();
  for (std::size_t i = 0; i < reading.parts.size(); ++i) {
    if (const auto& part = reading.parts[i]) {
      parts.push_back({{"part", result.parts.at(i)},
                       {"a_rms", json_number(part->rms_a)},
                       {"peak_a", json_number(part->peak_a)},
                       {"mean_w", json_number(part->mean_w)}});
    }
  }
  return {{"time_s", json_number(reading.time_s)},
          {"variac_v_rms", json_number(reading.dial_vrms)},
          {"mains_a_rms", json_number(reading.mains_a)},
          {"mains_w", json_number(reading.mains_w)},
          {"lamp_v_rms", json_number(reading.lamp_vrms)},
          {"lamp_w", json_number(reading.lamp_w)},
          {"error_bound_v", json_number(reading.error_v)},
          {"nodes", nodes},
          {"parts", parts}};
}

}  // namespace

std::string course_json(const core::Rig& rig, const CourseResult& result) {
  Json document = json_head(rig, Topic::course, course_verdict(result));
  Json steps = Json::array();
  for (const CourseStep& step : result.steps) {
    steps.push_back(step_json(step));
  }
  document["steps"] = steps;
  document["off_at_s"] = json_number(result.off_at_s);
  document["largest_error_v"] = json_number(result.largest_error_v);
  Json readings = Json::array();
  for (const CourseReading& reading : result.readings) {
    readings.push_back(reading_json(result, reading));
  }
  document["readings"] = readings;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string course_csv(const CourseResult& result) {
  std::string text = "time_s,variac_v_rms,reading,unit,value\r\n";
  for (const CourseReading& reading : result.readings) {
    const std::string head = csv_number(reading.time_s) + "," + csv_number(reading.dial_vrms) + ",";
    const auto add = [&](const std::string& name, const char* unit, double value) {
      text += fmt::format("{}{},{},{}\r\n", head, csv_field(name), unit, csv_number(value));
    };
    add("mains current", "A rms", reading.mains_a);
    add("mains power", "W", reading.mains_w);
    add("lamp", "W", reading.lamp_w);
    for (std::size_t i = 0; i < reading.nodes.size(); ++i) {
      if (const auto& node = reading.nodes[i]) {
        add(result.nodes.at(i), "V DC", node->mean_v);
        add(result.nodes.at(i), "V AC rms", node->ac_vrms);
        add(result.nodes.at(i), "V p-p", node->vpp);
      }
    }
    for (std::size_t i = 0; i < reading.parts.size(); ++i) {
      if (const auto& part = reading.parts[i]) {
        add(result.parts.at(i), "A rms", part->rms_a);
        add(result.parts.at(i), "A peak", part->peak_a);
        add(result.parts.at(i), "W", part->mean_w);
      }
    }
  }
  return text;
}

}  // namespace firstglow::sim
