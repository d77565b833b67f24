#include <fmt/format.h>

#include "sim/report/drawer_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

const char* answer_key(DrawerAnswer answer) {
  switch (answer) {
    case DrawerAnswer::meets:
      return "meets";
    case DrawerAnswer::fails:
      return "fails";
    case DrawerAnswer::not_known:
      return "no verdict";
    case DrawerAnswer::unfit:
      break;
  }
  return "unfit";
}

}  // namespace

std::string drawer_json(const core::Rig& rig, const DrawerResult& result) {
  Json document = json_head(rig, Topic::drawer, drawer_verdict(result));
  document["part"] = result.part;
  Json rows = Json::array();
  for (const DrawerRow& row : result.rows) {
    rows.push_back(
        {{"name", row.part.name},
         {"answer", answer_key(row.answer)},
         {"least_margin", json_number(row.least_margin)},
         {"fits", row.fits ? Json(*row.fits) : Json(nullptr)},
         {"quantity", row.part.quantity},
         {"why", json_text(row.why)},
         {"closest", row.closest ? json_findings({*row.closest}).front() : Json(nullptr)}});
  }
  document["rows"] = rows;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string drawer_csv(const DrawerResult& result) {
  std::string text = "name,answer,least_margin,fits,quantity\r\n";
  for (const DrawerRow& row : result.rows) {
    text += fmt::format("{},{},{},{},{}\r\n", csv_field(row.part.name), answer_key(row.answer),
                        row.least_margin ? csv_number(*row.least_margin) : "",
                        row.fits ? (*row.fits ? "yes" : "no") : "", row.part.quantity);
  }
  return text;
}

}  // namespace firstglow::sim
