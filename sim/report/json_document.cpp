#include "sim/report/json_document.hpp"

#include <cmath>

#include "core/error.hpp"

namespace firstglow::sim {

Json json_head(const core::Rig& rig, Topic topic, std::optional<core::Verdict> verdict) {
  Json head;
  head["format"] = kJsonFormat;
  head["command"] = topic_command(topic);
  head["rig"] = {{"name", rig.name}, {"file", rig.file}};
  head["verdict"] = verdict ? Json(core::to_words(*verdict)) : Json(nullptr);
  head["cautions"] = cautions(topic);
  return head;
}

Json json_number(double value) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a written number is finite");
  return value;
}

Json json_number(const std::optional<double>& value) {
  return value ? json_number(*value) : Json(nullptr);
}

Json json_numbers(const std::vector<double>& values) {
  Json all = Json::array();
  for (const double value : values) {
    all.push_back(json_number(value));
  }
  return all;
}

Json json_band(const Band& band) {
  return {{"low", json_number(band.low)},
          {"nominal", json_number(band.nominal)},
          {"high", json_number(band.high)}};
}

Json json_text(const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); }

Json json_findings(const std::vector<core::Finding>& findings) {
  Json all = Json::array();
  for (const core::Finding& finding : findings) {
    all.push_back({{"rule", finding.rule},
                   {"part", finding.part},
                   {"quantity", finding.quantity},
                   {"unit", finding.unit},
                   {"value", json_number(finding.value)},
                   {"limit", json_number(finding.limit)},
                   {"limit_is_least", finding.limit_is_least},
                   {"margin", json_number(finding.margin())},
                   {"verdict", core::to_words(finding.verdict)},
                   {"situation", json_text(finding.situation)},
                   {"at_s", json_number(finding.at_s)},
                   {"limit_source", json_text(finding.limit_source)},
                   {"note", json_text(finding.note)}});
  }
  return all;
}

std::string json_lines(const Json& document) {
  return document.dump(1, ' ', true, Json::error_handler_t::replace) + "\n";
}

}  // namespace firstglow::sim
