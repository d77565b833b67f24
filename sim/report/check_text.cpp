#include <fmt/format.h>
#include <fmt/ranges.h>

#include "sim/report/cautions.hpp"
#include "sim/report/check_report.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/page.hpp"
#include "sim/report/part_words.hpp"

namespace firstglow::sim {
namespace {

std::string ohms(const std::optional<double>& value) {
  return value ? with_unit(*value, "ohm") : "open";
}

void add_ohms(Page& page, const CheckResult& result) {
  page.heading("OHMMETER TO CHASSIS: plug out, tubes out, capacitors discharged");
  page.text(
      "Black lead on the chassis, red lead on the node; then the leads changed over. Wait until "
      "the reading stands still: the meter charges the capacitors.");
  page.blank();
  Table table({{"node"},
               {"red lead\nlow", Align::right},
               {"on node\nnominal", Align::right},
               {"\nhigh", Align::right},
               {"leads\nchanged", Align::right},
               {"\nremark"}});
  bool through = false;
  for (const OhmsReading& reading : result.ohms) {
    const bool red = reading.red_through_rectifier, black = reading.black_through_rectifier;
    through = through || red || black;
    table.row({reading.node, ohms(reading.red_low_ohm), ohms(reading.red_ohm),
               ohms(reading.red_high_ohm), ohms(reading.black_ohm),
               red && black ? "* both ways" : (red ? "* red" : (black ? "* changed" : ""))});
  }
  page.table(table);
  page.text("open: above 100 Mohm.");
  if (through) {
    page.item("*",
              "through a rectifier: depends on the test volts of the meter; many meters show "
              "open on an ohms range. Use the diode range.");
  }
  page.item("Outside the band:",
            "no power. Lower: a wrong, leaky or shorted part, or dirt. Higher or open: a bleeder "
            "or equaliser is missing, and nothing empties the capacitors.");
}

void add_missing(Page& page, const CheckResult& result) {
  page.heading("MISSING IN THE RECORD: what cannot be answered without it");
  if (result.missing.empty()) {
    page.text("Nothing.");
    return;
  }
  Table table({{"part"}, {"missing"}, {"answers that become \"no verdict\""}});
  for (const MissingItem& item : result.missing) {
    table.row({item.part, item.what, item.answers});
  }
  page.table(table);
}

void add_parts(Page& page, const core::Rig& rig) {
  page.heading("PARTS AS UNDERSTOOD: compare with what is on the chassis");
  for (const core::Part& part : rig.parts) {
    const PartWords words = part_words(rig, part);
    page.item(fmt::format("{}:", part.designator), fmt::format("{}; {}", words.kind, words.nodes));
    for (const std::string& line : words.lines) {
      page.text(line, 6, 2);
    }
  }
}

void add_nets(Page& page, const CheckResult& result) {
  page.heading("NETS: every end that is joined");
  for (const NetLine& net : result.nets) {
    page.item(fmt::format("{}:", net.node), fmt::format("{}", fmt::join(net.ends, ", ")));
  }
}

void add_derived(Page& page, const CheckResult& result) {
  page.heading("WORKED OUT FROM THE RECORD");
  for (const DerivedFigure& figure : result.derived) {
    page.item(fmt::format("{}:", figure.part),
              fmt::format("{} {}{}", figure.name, with_unit(figure.value, figure.unit),
                          figure.assumed ? " (ASSUMED)" : ""));
    if (!figure.how.empty()) {
      page.item("how:", figure.how, 6);
    }
  }
}

}  // namespace

std::string check_text(const core::Rig& rig, const CheckResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::check);
  if (!rig.description.empty()) {
    page.blank().text(rig.description);
  }
  page.blank().text(
      fmt::format(
          "RESULT: the record was read. Parts: {}, nets: {}, missing figures: {}. Nothing is "
          "judged here: run margins, inrush and bleed.",
          rig.parts.size(), result.nets.size(), result.missing.size()),
      0, 8);
  if (!result.remarks.empty()) {
    page.heading("REMARKS");
    for (const std::string& remark : result.remarks) {
      page.item("!", remark);
    }
  }
  if (!result.ohms.empty()) {
    add_ohms(page, result);
  }
  add_missing(page, result);
  add_parts(page, rig);
  add_nets(page, result);
  if (!result.derived.empty()) {
    add_derived(page, result);
  }
  end_report(page, {"The meter itself draws nothing and tests with no volts worth naming; wet or "
                    "dirty insulation reads lower than predicted."});
  return page.take();
}

}  // namespace firstglow::sim
