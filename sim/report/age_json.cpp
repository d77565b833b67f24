#include <fmt/format.h>

#include "sim/report/age_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

constexpr double kHourSeconds = 3600.0;

Json seconds(const std::optional<double>& hours) {
  return hours ? json_number(*hours * kHourSeconds) : Json(nullptr);
}

Json whole(const std::optional<int>& years) { return years ? Json(*years) : Json(nullptr); }

const char* advice_key(core::ShelfAdvice advice) {
  switch (advice) {
    case core::ShelfAdvice::use:
      return "use";
    case core::ShelfAdvice::test:
      return "test";
    case core::ShelfAdvice::condition:
      return "condition";
    case core::ShelfAdvice::reform:
      return "reform";
    case core::ShelfAdvice::unknown:
      break;
  }
  return "unknown";
}

Json row_json(const AgeRow& row, bool failed) {
  Json rules = Json::array();
  for (const core::ConditioningRule& rule : row.rules) {
    rules.push_back(
        {{"name", rule.name},
         {"source", rule.source},
         {"series_ohm", json_number(rule.series.si())},
         {"dwell_s", json_number(rule.dwell.si())},
         {"ceiling_a",
          rule.ceiling > core::Amps() ? json_number(rule.ceiling.si()) : Json(nullptr)},
         {"discharge_ohm",
          rule.discharge > core::Ohms() ? json_number(rule.discharge.si()) : Json(nullptr)},
         {"words", rule.words}});
  }
  const auto run = [failed](double value) { return failed ? Json(nullptr) : json_number(value); };
  return {{"part", row.part},
          {"volts_v", run(row.volts)},
          {"working_v", json_number(row.working_v)},
          {"ripple_a_rms", run(row.ripple_a)},
          {"rated_ripple_a_rms", json_number(row.rated_ripple_a)},
          {"esr_ohm", json_number(row.esr_ohm)},
          {"esr_assumed", row.esr_assumed},
          {"heat_w", run(row.heat_w)},
          {"rise_k", run(row.rise_k)},
          {"ten_degree_life_s", failed ? Json(nullptr) : seconds(row.ten_degree_h)},
          {"maker_life_s", failed ? Json(nullptr) : seconds(row.maker_h)},
          {"years_old", whole(row.years_old)},
          {"years_idle", whole(row.years_idle)},
          {"advice", advice_key(row.shelf.advice)},
          {"advice_words", row.shelf.words},
          {"conditioning", rules}};
}

}  // namespace

std::string age_json(const core::Rig& rig, const AgeResult& result) {
  Json document = json_head(rig, Topic::age, age_verdict(result));
  document["air_k"] = json_number(result.air_k);
  Json rows = Json::array();
  for (const AgeRow& row : result.rows) {
    rows.push_back(row_json(row, !result.failure.empty()));
  }
  document["cans"] = rows;
  document["failure"] = json_text(result.failure);
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string age_csv(const AgeResult& result) {
  std::string text =
      "part,volts_v,ripple_a_rms,esr_ohm,heat_w,rise_k,ten_degree_life_s,maker_life_s\r\n";
  const auto cell = [](const std::optional<double>& hours) {
    return hours ? csv_number(*hours * kHourSeconds) : std::string();
  };
  for (const AgeRow& row : result.rows) {
    if (result.failure.empty()) {
      text += fmt::format("{},{},{},{},{},{},{},{}\r\n", csv_field(row.part), csv_number(row.volts),
                          csv_number(row.ripple_a), csv_number(row.esr_ohm), csv_number(row.heat_w),
                          csv_number(row.rise_k), cell(row.ten_degree_h), cell(row.maker_h));
    }
  }
  return text;
}

}  // namespace firstglow::sim
