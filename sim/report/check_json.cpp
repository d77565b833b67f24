#include "sim/report/check_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/part_words.hpp"

namespace firstglow::sim {
namespace {

Json parts_json(const core::Rig& rig) {
  Json all = Json::array();
  for (const core::Part& part : rig.parts) {
    const PartWords words = part_words(rig, part);
    Json nodes = Json::array();
    for (const core::NodeIndex node : core::terminals(part)) {
      nodes.push_back(rig.node_name(node));
    }
    all.push_back({{"part", part.designator},
                   {"kind", part.kind},
                   {"type", json_text(part.type)},
                   {"nodes", nodes},
                   {"understood", words.lines},
                   {"note", json_text(part.note)},
                   {"line", part.where.line}});
  }
  return all;
}

Json ohms_json(const OhmsReading& reading) {
  return {{"node", reading.node},
          {"red_ohm", json_number(reading.red_ohm)},
          {"red_low_ohm", json_number(reading.red_low_ohm)},
          {"red_high_ohm", json_number(reading.red_high_ohm)},
          {"red_through_rectifier", reading.red_through_rectifier},
          {"black_ohm", json_number(reading.black_ohm)},
          {"black_through_rectifier", reading.black_through_rectifier}};
}

}  // namespace

std::string check_json(const core::Rig& rig, const CheckResult& result) {
  Json document = json_head(rig, Topic::check, std::nullopt);
  document["remarks"] = result.remarks;
  document["ohms"] = Json::array();
  for (const OhmsReading& reading : result.ohms) {
    document["ohms"].push_back(ohms_json(reading));
  }
  document["missing"] = Json::array();
  for (const MissingItem& item : result.missing) {
    document["missing"].push_back(
        {{"part", item.part}, {"what", item.what}, {"answers", item.answers}});
  }
  document["parts"] = parts_json(rig);
  document["nets"] = Json::array();
  for (const NetLine& net : result.nets) {
    document["nets"].push_back({{"node", net.node}, {"ends", net.ends}});
  }
  document["derived"] = Json::array();
  for (const DerivedFigure& figure : result.derived) {
    document["derived"].push_back({{"part", figure.part},
                                   {"name", figure.name},
                                   {"value", json_number(figure.value)},
                                   {"unit", figure.unit},
                                   {"how", json_text(figure.how)},
                                   {"assumed", figure.assumed}});
  }
  return json_lines(document);
}

}  // namespace firstglow::sim
