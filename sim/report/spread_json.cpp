#include "sim/report/json_document.hpp"
#include "sim/report/spread_report.hpp"

namespace firstglow::sim {
namespace {

Json reading_json(const SpreadReading& one) {
  Json shares = Json::array();
  for (const SpreadShare& share : one.shares) {
    shares.push_back(
        {{"input", share.input}, {"share", json_number(share.share)}, {"raises", share.raises}});
  }
  return {{"reading", one.column.name},          {"unit", one.column.unit},
          {"part", json_text(one.column.part)},  {"limit", json_number(one.column.limit)},
          {"draws_over_limit", one.over_limit},  {"nominal", json_number(one.nominal)},
          {"mean", json_number(one.mean)},       {"standard_deviation", json_number(one.deviation)},
          {"lowest", json_number(one.lowest)},   {"percent_1", json_number(one.p1)},
          {"percent_5", json_number(one.p5)},    {"median", json_number(one.median)},
          {"percent_95", json_number(one.p95)},  {"percent_99", json_number(one.p99)},
          {"highest", json_number(one.highest)}, {"shares", shares}};
}

}  // namespace

std::string spread_json(const core::Rig& rig, const SpreadResult& result) {
  Json document = json_head(rig, Topic::spread, spread_verdict(result));
  document["draws"] = result.table.draws;
  document["failed_draws"] = result.failed;
  document["seed"] = result.table.seed;
  Json readings = Json::array();
  for (const SpreadReading& one : result.readings) {
    readings.push_back(reading_json(one));
  }
  document["readings"] = readings;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

}  // namespace firstglow::sim
