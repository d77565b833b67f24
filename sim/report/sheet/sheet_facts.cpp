#include "sim/report/sheet/sheet_facts.hpp"

#include <nlohmann/json.hpp>

#include "sim/report/sheet/html_text.hpp"
#include "sim/studies/spread.hpp"

namespace firstglow::sim {

SheetFacts sheet_facts(const core::Rig& rig, const RampupOptions& options,
                       const std::string& date) {
  SheetFacts facts;
  facts.rig = rig.name;
  facts.record = rig_fingerprint(rig, 0.0);
  facts.date = date;
  facts.steps_vrms = options.steps_vrms;
  for (const netlists::Stage stage : options.stages) {
    facts.stages.emplace_back(netlists::stage_key(stage));
  }
  if (options.lamp) {
    facts.lamp_w = options.lamp->rated_watts.si();
    facts.lamp_vrms = options.lamp->rated_volts.si();
  }
  facts.without_lamp = options.without_lamp;
  return facts;
}

std::string sheet_facts_html(const SheetFacts& facts) {
  nlohmann::ordered_json json{{"rig", facts.rig},       {"record", facts.record},
                              {"date", facts.date},     {"steps_v_rms", facts.steps_vrms},
                              {"stages", facts.stages}, {"lamp_w", nullptr},
                              {"lamp_v_rms", nullptr},  {"without_lamp", facts.without_lamp}};
  if (facts.lamp_w && facts.lamp_vrms) {
    json["lamp_w"] = *facts.lamp_w;
    json["lamp_v_rms"] = *facts.lamp_vrms;
  }
  const std::string text = json.dump(-1, ' ', true, nlohmann::json::error_handler_t::replace);
  return "<div id=\"sheet-facts\" hidden data-facts=\"" + html_text(text) + "\"></div>";
}

}  // namespace firstglow::sim
