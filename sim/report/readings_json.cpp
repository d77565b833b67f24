#include "sim/report/json_document.hpp"
#include "sim/report/readings_report.hpp"

namespace firstglow::sim {
namespace {

Json limits_json(const ReadingLimits& limits) {
  return {{"low", json_number(limits.low)},
          {"nominal", json_number(limits.expected)},
          {"high", json_number(limits.high)},
          {"stop_below", json_number(limits.stop_below)},
          {"stop_above", json_number(limits.stop_above)}};
}

Json check_json(const JudgedCheck& part) {
  return {{"label", part.check.label},
          {"unit", part.check.unit},
          {"value", json_number(part.value)},
          {"limits", limits_json(part.check.limits)},
          {"judgement", judgement_words(part.judgement)}};
}

Json blank_json(const JudgedBlank& judged) {
  Json checks = Json::array();
  for (const JudgedCheck& part : judged.checks) {
    checks.push_back(check_json(part));
  }
  return {{"id", judged.blank.id},
          {"label", judged.blank.label},
          {"unit", judged.blank.unit},
          {"written", judged.written},
          {"value", json_number(judged.value)},
          {"fault", json_text(judged.fault)},
          {"limits", limits_json(limits_of(judged.blank))},
          {"mark", mark_of(judged)},
          {"page_mark", json_text(judged.page_mark)},
          {"checks", checks}};
}

Json entry_json(const WrittenEntry& entry) {
  return {{"id", entry.id},
          {"label", entry.label},
          {"unit", entry.unit},
          {"written", entry.written},
          {"line", entry.where.line}};
}

Json filled_json(const std::vector<JudgedBlank>& filled) {
  Json all = Json::array();
  for (const JudgedBlank& judged : filled) {
    all.push_back(blank_json(judged));
  }
  return all;
}

Json step_json(const JudgedStep& step) {
  return {{"stage", step.stage},
          {"with_lamp", step.with_lamp},
          {"variac_v_rms", json_number(step.variac_vrms)},
          {"gates_not_ticked", step.open_gates},
          {"empty", step.empty},
          {"readings", filled_json(step.filled)}};
}

Json sheet_json(const ReadingsResult& result) {
  if (!result.sheet) {
    return nullptr;
  }
  return {{"rig", result.sheet->rig},
          {"record", result.sheet->record},
          {"date", result.sheet->date},
          {"record_now", result.now.record},
          {"record_changed", result.record_changed()}};
}

}  // namespace

std::string readings_json(const core::Rig& rig, const ReadingsResult& result) {
  Json document = json_head(rig, Topic::readings, readings_verdict(result));
  document["sheet"] = sheet_json(result);
  document["inside"] = result.count(Judgement::inside);
  document["outside"] = result.count(Judgement::outside);
  document["stop"] = result.count(Judgement::stop);
  document["no_verdict"] = result.count(Judgement::no_verdict) + result.without_place.size();
  document["dead"] = filled_json(result.dead);
  Json steps = Json::array();
  for (const JudgedStep& step : result.steps) {
    steps.push_back(step_json(step));
  }
  document["steps"] = steps;
  for (const auto& [key, entries] :
       {std::pair{"without_place", &result.without_place}, std::pair{"words", &result.words}}) {
    Json list = Json::array();
    for (const WrittenEntry& entry : *entries) {
      list.push_back(entry_json(entry));
    }
    document[key] = list;
  }
  document["ticks"] = result.ticks;
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
