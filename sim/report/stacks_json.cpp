#include "sim/report/json_document.hpp"
#include "sim/report/stacks_report.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json section_json(const SectionAnswer& section) {
  return {{"cans", section.cans},
          {"equalisers", json_text(section.equalisers)},
          {"equaliser_ohm", json_number(section.equaliser_ohm)},
          {"leakage_a", json_number(section.leakage_a)},
          {"leakage_assumed", section.leakage_assumed},
          {"usual_v", json_number(section.nominal_v)},
          {"at_once_v", json_number(section.fast_v)},
          {"after_hours_v", json_number(section.slow_v)},
          {"working_v", json_number(section.working_v)},
          {"surge_v", json_number(section.surge_v)}};
}

Json duty_json(const std::optional<core::EqualiserDuty>& duty) {
  if (!duty) {
    return nullptr;
  }
  return {{"in_series", duty->in_series},
          {"each_ohm", json_number(duty->each.si())},
          {"each_v", json_number(duty->each_volts.si())},
          {"each_w", json_number(duty->each_watts.si())},
          {"rated_w", json_number(duty->each_rated.si())},
          {"rated_v", json_number(duty->style_volts.si())}};
}

Json open_json(const OpenEqualiser& open) {
  return {{"part", open.part},
          {"cans", open.cans},
          {"after_hour_v", json_number(open.after_hour_v)},
          {"after_day_v", json_number(open.after_day_v)},
          {"over_working_s", json_number(open.over_working_s)},
          {"over_surge_s", json_number(open.over_surge_s)}};
}

Json stack_json(const StackAnswer& stack) {
  Json answer{{"top", stack.top}, {"bottom", stack.bottom}, {"failure", json_text(stack.failure)}};
  if (!stack.failure.empty()) {
    return answer;
  }
  Json sections = Json::array(), open = Json::array();
  for (const SectionAnswer& section : stack.sections) {
    sections.push_back(section_json(section));
  }
  for (const OpenEqualiser& one : stack.open) {
    open.push_back(open_json(one));
  }
  answer["supply_v"] = json_number(stack.supply_v);
  answer["peak_v"] = json_number(stack.peak_v);
  answer["sections"] = sections;
  answer["largest_equaliser_ohm"] = json_number(stack.largest_ohm);
  answer["advised_equaliser_ohm"] = json_number(stack.advised_ohm);
  answer["advised_duty"] = duty_json(stack.duty);
  answer["equaliser_open"] = open;
  return answer;
}

}  // namespace

std::string stacks_json(const core::Rig& rig, const StacksResult& result) {
  Json document = json_head(rig, Topic::stacks, stacks_verdict(result));
  Json all = Json::array();
  for (const StackAnswer& stack : result.stacks) {
    all.push_back(stack_json(stack));
  }
  document["stacks"] = all;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string stacks_csv(const StacksResult& result) {
  std::vector<Trace> traces;
  for (const StackAnswer& stack : result.stacks) {
    traces.insert(traces.end(), stack.traces.begin(), stack.traces.end());
  }
  return traces_csv(traces);
}

}  // namespace firstglow::sim
