#include <fmt/format.h>

#include "sim/report/json_document.hpp"
#include "sim/report/lines_report.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

Json row_json(const LineRow& row) {
  Json heaters = Json::array();
  for (const HeaterAtLine& heater : row.heaters) {
    heaters.push_back({{"part", heater.part},
                       {"heater_v_rms", json_number(heater.vrms)},
                       {"rated_v_rms", json_number(heater.rated_vrms)}});
  }
  Json supplies = Json::array();
  for (const SupplyAtLine& supply : row.supplies) {
    supplies.push_back({{"node", supply.node},
                        {"unloaded_v", json_number(supply.unloaded_v)},
                        {"loaded_v", json_number(supply.loaded_v)}});
  }
  return {{"line_v_rms", json_number(row.line_vrms)},
          {"mains_a_rms", row.failure.empty() ? json_number(row.mains_a) : Json(nullptr)},
          {"heaters", heaters},
          {"supplies", supplies},
          {"failure", json_text(row.failure)}};
}

}  // namespace

std::string lines_json(const core::Rig& rig, const LinesResult& result) {
  Json document = json_head(rig, Topic::lines, lines_verdict(result));
  Json rows = Json::array();
  for (const LineRow& row : result.rows) {
    rows.push_back(row_json(row));
  }
  document["lines"] = rows;
  document["right_line_v_rms"] = json_number(result.right_line_vrms);
  Json bucking = Json::array();
  for (const Bucking& one : result.bucking) {
    bucking.push_back({{"line_v_rms", json_number(one.line_vrms)},
                       {"wanted_v_rms", json_number(one.wanted_v)},
                       {"winding_v_rms", json_number(one.winding_v)},
                       {"left_v_rms", json_number(one.left_vrms)},
                       {"winding_a_rms", json_number(one.amps)},
                       {"winding_va", json_number(one.va)}});
  }
  document["bucking"] = bucking;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string lines_csv(const LinesResult& result) {
  std::string text = "line_v_rms,reading,unit,value\r\n";
  for (const LineRow& row : result.rows) {
    const auto add = [&text, &row](const std::string& reading, const char* unit, double value) {
      text += fmt::format("{},{},{},{}\r\n", csv_number(row.line_vrms), csv_field(reading), unit,
                          csv_number(value));
    };
    if (!row.failure.empty()) {
      continue;
    }
    add("mains current", "A rms", row.mains_a);
    for (const HeaterAtLine& heater : row.heaters) {
      add(heater.part + ": heater", "V rms", heater.vrms);
    }
    for (const SupplyAtLine& supply : row.supplies) {
      if (supply.unloaded_v) {
        add(supply.node + ": light", "V DC", *supply.unloaded_v);
      }
      if (supply.loaded_v) {
        add(supply.node + ": loaded", "V DC", *supply.loaded_v);
      }
    }
  }
  return text;
}

}  // namespace firstglow::sim
