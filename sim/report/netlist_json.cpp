#include "sim/report/json_document.hpp"
#include "sim/report/netlist_report.hpp"

namespace firstglow::sim {

std::string netlist_json(const core::Rig& rig, const netlists::Situation& situation,
                         const std::string& netlist) {
  Json document = json_head(rig, Topic::netlist, std::nullopt);
  Json said{{"stage", netlists::stage_key(situation.stage)},
            {"line_v_rms", json_number(situation.line.value_or(rig.mains().nominal).si())},
            {"variac_setting", json_number(situation.variac_setting)},
            {"closing_angle_deg", json_number(situation.closing_angle_deg)},
            {"lamp", nullptr}};
  if (situation.lamp) {
    said["lamp"] = {{"rated_w", json_number(situation.lamp->rated_watts.si())},
                    {"rated_v_rms", json_number(situation.lamp->rated_volts.si())}};
  }
  document["situation"] = said;
  document["netlist"] = netlist;
  return json_lines(document);
}

}  // namespace firstglow::sim
