#include <fmt/format.h>

#include "sim/report/json_document.hpp"
#include "sim/report/reform_report.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json row_json(const FormingRow& row) {
  return {{"mark_v", json_number(row.mark_v)},
          {"series_ohm", row.series_ohm > 0.0 ? json_number(row.series_ohm) : Json(nullptr)},
          {"from_s", json_number(row.from_s)},
          {"dwell_s", json_number(row.dwell_s)},
          {"peak_a", json_number(row.peak_a)},
          {"read_a", json_numbers(row.read_a)},
          {"end_a", json_number(row.end_a)},
          {"can_v", json_number(row.can_v)},
          {"can_k", json_number(row.can_k)}};
}

Json case_json(const FormingCase& shown) {
  Json rows = Json::array();
  for (const FormingRow& row : shown.rows) {
    rows.push_back(row_json(row));
  }
  return {{"name", shown.name},
          {"can_is", shown.words},
          {"formed", shown.reached},
          {"end", shown.end},
          {"total_s", json_number(shown.total_s)},
          {"end_a", json_number(shown.end_a)},
          {"hottest_k", json_number(shown.hottest_k)},
          {"rows", rows}};
}

Json plan_json(const ReformPlan& plan) {
  if (!plan.failure.empty()) {
    return {{"part", plan.part}, {"failure", plan.failure}};
  }
  Json cases = Json::array();
  for (const FormingCase& shown : plan.cases) {
    cases.push_back(case_json(shown));
  }
  Json sources = Json::array();
  for (std::size_t k = 0; k < plan.sources.size(); ++k) {
    sources.push_back({{"variac_v_rms", json_number(plan.marks_v[k])},
                       {"open_v", json_number(plan.sources[k].open_v)},
                       {"source_ohm", json_number(plan.sources[k].ohm)}});
  }
  return {{"part", plan.part},
          {"failure", nullptr},
          {"capacitance_f", json_number(plan.capacitance_f)},
          {"working_v", json_number(plan.rated_v)},
          {"end_v", json_number(plan.end_v)},
          {"limit_a", json_number(plan.limit_a)},
          {"runaway_a", json_number(plan.runaway_a)},
          {"thermal_k_per_w", json_number(plan.heat.thermal_k_per_w)},
          {"can_size_assumed", plan.heat.size_assumed},
          {"series_ohm", plan.series_ohm > 0.0 ? json_number(plan.series_ohm) : Json(nullptr)},
          {"last_ohm", plan.last_ohm > 0.0 ? json_number(plan.last_ohm) : Json(nullptr)},
          {"series_w", plan.series_ohm > 0.0 ? json_number(plan.series_w) : Json(nullptr)},
          {"sources", sources},
          {"cases", cases},
          {"remarks", plan.remarks}};
}

Json spread_json(const std::optional<Spread>& spread) {
  if (!spread) {
    return nullptr;
  }
  return {{"low", json_number(spread->low)},
          {"nominal", json_number(spread->middle)},
          {"high", json_number(spread->high)}};
}

}  // namespace

std::string reform_json(const core::Rig& rig, const ReformResult& result) {
  Json document = json_head(rig, Topic::reform, std::nullopt);
  document["where"] = result.in_set ? "set" : "bench";
  document["ceiling_a"] = json_number(result.ceiling_a);
  document["air_k"] = json_number(result.air_k);
  document["leakage_rule"] = result.rule_words;
  document["leakage_rule_source"] = result.rule_source;
  Json plans = Json::array();
  for (const ReformPlan& plan : result.plans) {
    plans.push_back(plan_json(plan));
  }
  document["plans"] = plans;
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string reform_csv(const ReformResult& result) {
  std::string text = "part,can,time_s,supply_v,can_v,current_a,formed_v,can_k\r\n";
  for (const ReformPlan& plan : result.plans) {
    for (const FormingCase& shown : plan.cases) {
      for (const FormingPoint& point : shown.points) {
        text += fmt::format(
            "{},{},{},{},{},{},{},{}\r\n", csv_field(plan.part), csv_field(shown.name),
            csv_number(point.time_s), csv_number(point.supply_v), csv_number(point.can_v),
            csv_number(point.current_a), csv_number(point.formed_v), csv_number(point.can_k));
      }
    }
  }
  return text;
}

std::string reform_log_json(const core::Rig& rig, const ReformLogResult& result) {
  const FormingVerdict& verdict = result.verdict;
  Json document = json_head(rig, Topic::reform, reform_log_verdict(result));
  document["part"] = result.part;
  document["log"] = result.log_file;
  document["answer"] = to_words(verdict.answer);
  document["confidence"] = json_number(verdict.confidence);
  document["why"] = verdict.why;
  document["to_go_s"] = spread_json(verdict.to_go_s);
  document["stays_a"] = spread_json(verdict.stays_a);
  document["limit_a"] = json_number(result.facts.limit_a);
  document["leakage_rule"] = result.rule_words;
  document["leakage_rule_source"] = result.rule_source;
  document["readings_left_out"] = verdict.left_out;
  Json readings = Json::array();
  for (std::size_t k = 0; k < verdict.judged.amps.size(); ++k) {
    const double time_s = verdict.judged.time_s[k];
    readings.push_back(
        {{"time_s", json_number(time_s)},
         {"read_a", json_number(verdict.judged.amps[k])},
         {"curve_a", verdict.fit ? json_number(verdict.fit->best.at(time_s)) : Json(nullptr)}});
  }
  document["readings"] = readings;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string reform_log_csv(const ReformLogResult& result) {
  std::string text = "time_s,read_a,curve_a\r\n";
  const FormingSeries& series = result.verdict.judged;
  for (std::size_t k = 0; k < series.amps.size(); ++k) {
    text += fmt::format(
        "{},{},{}\r\n", csv_number(series.time_s[k]), csv_number(series.amps[k]),
        result.verdict.fit ? csv_number(result.verdict.fit->best.at(series.time_s[k])) : "");
  }
  return text;
}

}  // namespace firstglow::sim
