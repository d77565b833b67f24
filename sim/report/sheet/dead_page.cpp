#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/report/sheet/dead_blanks.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/volt_class.hpp"

namespace firstglow::sim {
namespace {

Markup words_blank(std::vector<std::string> id, const std::string& label) {
  id.insert(id.begin(), "dead");
  return {words_html({blank_id(id), label, 1, ""}, LabelPlace::hidden)};
}

std::string ohms(const std::optional<double>& value) {
  return value ? with_unit(*value, "ohm") : "open";
}

/// A tick for each thing to be looked at on the mains side.
void put_mains_side(Html& html, const core::Rig& rig) {
  std::vector<Tick> ticks;
  const auto add = [&ticks](const char* id, std::string label) {
    ticks.push_back({blank_id({"dead", "mains", id}), std::move(label)});
  };
  add("plug", "The plug is out and lies where I see it.");
  add("cord",
      "Three-wire cord, sound over its whole length; earth pin to chassis below 0.1 ohm "
      "(common practice, no source).");
  add("pins", "Each of the other pins to the chassis above 1 Mohm, switch on.");
  for (const core::Part& part : rig.parts) {
    if (const auto* fuse = std::get_if<core::Fuse>(&part.data)) {
      add(("fuse-" + part.designator).c_str(),
          fmt::format("Fuse {} is {}{}, in the line and not in the neutral.", part.designator,
                      with_unit(fuse->rating.si(), "A"),
                      !fuse->speed                            ? ", speed not known"
                      : *fuse->speed == core::FuseSpeed::slow ? " slow"
                                                              : " fast"));
    }
  }
  add("safety",
      "No old capacitor from line to chassis or across the line: X class across, Y class "
      "to chassis, or none (common practice, no source).");
  add("sockets", "No bare pin of a relay or accessory socket is on the line.");
  html.element("h3", "Mains side");
  html.open("ul", {{"class", "ticks"}});
  for (const Tick& tick : ticks) {
    html.open("li").paste({tick_html(tick)}).close();
  }
  html.close();
}

HtmlCell reading_cell(const Blank& blank) { return Markup{blank_html(blank, LabelPlace::hidden)}; }

/// A limit of a blank as ohms, with the digits it is judged by.
std::string limit_ohms(const std::optional<double>& value) {
  if (!value) {
    return "?";
  }
  return *value >= kOpenFromOhm ? "open" : with_unit(*value, "ohm");
}

void put_nodes(Html& html, const CheckResult& check) {
  HtmlTable table("Each node to the chassis: black lead on the chassis, red on the node",
                  {{"Node"},
                   {"low", HtmlColumnKind::number},
                   {"nominal", HtmlColumnKind::number},
                   {"high", HtmlColumnKind::number},
                   {"leads changed", HtmlColumnKind::number},
                   {"reading", HtmlColumnKind::blank}});
  const std::vector<Blank> blanks = node_ohms_blanks(check);
  FIRSTGLOW_REQUIRE(blanks.size() == check.ohms.size(), "each reading of ohms has its blank");
  for (std::size_t i = 0; i < blanks.size(); ++i) {
    const OhmsReading& reading = check.ohms[i];
    const Blank& blank = blanks[i];
    table.row({reading.node, limit_ohms(blank.low),
               ohms(reading.red_ohm) + (reading.red_through_rectifier ? " *" : ""),
               limit_ohms(blank.high),
               ohms(reading.black_ohm) + (reading.black_through_rectifier ? " *" : ""),
               reading_cell(blank)});
  }
  html.table(table);
  html.list(
      {"Plug out, tubes out, every capacitor discharged, measured and hooked before; lift the "
       "hook for the reading only. Wait until the reading stands still.",
       "* through a rectifier: depends on the meter's test volts; use the diode range.",
       "Too low: a leaky or shorted capacitor, a wrong part, dirt. No power.",
       "Too high or open: a bleeder or equaliser is missing, and nothing empties the "
       "capacitors. No power.",
       "open: above 100 Mohm; write OL."});
}

void put_bleeders(Html& html, const core::Rig& rig) {
  HtmlTable table("Every bleeder and equaliser by itself, one end lifted",
                  {{"Part"},
                   {"low", HtmlColumnKind::number},
                   {"nominal", HtmlColumnKind::number},
                   {"high", HtmlColumnKind::number},
                   {"reading", HtmlColumnKind::blank}});
  for (const Blank& blank : bleeder_blanks(rig)) {
    table.row({blank.label, limit_ohms(blank.low), limit_ohms(blank.expected),
               limit_ohms(blank.high), reading_cell(blank)});
  }
  if (table.empty()) {
    html.element("p", "The record has no bleeder and no equaliser. Nothing empties the capacitors.",
                 {{"class", "verdict bad"}});
  }
  html.table(table);
}

void put_windings(Html& html, const core::Rig& rig) {
  HtmlTable table("Windings and chokes, ohms, cold", {{"Winding"},
                                                      {"Between"},
                                                      {"Record", HtmlColumnKind::number},
                                                      {"reading", HtmlColumnKind::blank}});
  for (const WindingBlank& winding : winding_blanks(rig)) {
    table.row({winding.winding, winding.between, limit_ohms(winding.blank.expected),
               reading_cell(winding.blank)});
  }
  html.table(table);
  html.paragraph(
      "Halves of a high-voltage winding differ by some per cent: the outer half is longer. Copper "
      "changes 4 % in 10 degrees. More than 10 % off is worth a second look (common practice, no "
      "source). Ohms do not show shorted turns: the lamp and the unloaded run do.");
}

/// Highest volts of any node of a winding.
double highest_of(const core::Rig& rig, const core::Winding& winding,
                  const std::vector<NodeVolts>& worst) {
  double peak_v = 0.0;
  for (const core::NodeIndex node : winding.nodes) {
    for (const NodeVolts& volts : worst) {
      if (node > core::kChassis && volts.node == rig.node_name(node)) {
        peak_v = std::max(peak_v, volts.peak_v);
      }
    }
  }
  return peak_v;
}

void put_insulation(Html& html, const core::Rig& rig, const std::vector<NodeVolts>& worst) {
  HtmlTable table("Insulation of each winding to frame and to all others",
                  {{"Winding"},
                   {"Volts at work, at most", HtmlColumnKind::number},
                   {"Test with, DC", HtmlColumnKind::number},
                   {"At least", HtmlColumnKind::number},
                   {"reading, Mohm", HtmlColumnKind::blank}});
  for (const core::Part& part : rig.parts) {
    const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
    if (transformer == nullptr) {
      continue;
    }
    std::vector<const core::Winding*> windings{&transformer->primary};
    for (const core::Winding& secondary : transformer->secondaries) {
      windings.push_back(&secondary);
    }
    for (const core::Winding* winding : windings) {
      const std::string name = part.designator + " " + winding->name;
      const double peak_v = highest_of(rig, *winding, worst);
      const bool known = peak_v > 0.0;
      table.row({name, known ? significant(peak_v) : "not predicted",
                 known ? (peak_v < 1000.0 ? "500 V" : "1000 V") : "ask first",
                 known ? fmt::format("{:.1f} Mohm", std::max(1.0, peak_v / 1000.0)) : "no verdict",
                 words_blank({"insulation", name}, name + ", insulation, Mohm")});
    }
  }
  html.table(table);
  html.list(
      {"Rule: 1 Mohm for each 1000 V at work, never below 1 Mohm. [ONE-MEGOHM] Old iron that "
       "only just keeps it is dried and measured again.",
       "Lift every end first: rectifiers and capacitors would give their own reading, and the "
       "test volts can kill them.",
       "One minute, then discharge the winding: the tester charges it, and it bites.",
       "An ohmmeter that shows \"open\" proves nothing at high volts."});
}

}  // namespace

Markup dead_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"dead", "Dead checks before power"});
  html.element("p", cautions(Topic::check).back(), {{"class", "caution"}});
  put_mains_side(html, input.rig);
  put_nodes(html, input.answers.check);
  put_bleeders(html, input.rig);
  put_windings(html, input.rig);
  std::vector<StageVolts> stages;
  if (input.answers.rampup.result) {
    stages = stage_volts(input.rig, *input.answers.rampup.result);
  }
  put_insulation(html, input.rig, worst_volts(input.rig, stages));
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
