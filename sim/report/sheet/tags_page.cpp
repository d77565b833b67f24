#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/longest_discharge.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/volt_class.hpp"

namespace firstglow::sim {
namespace {

/// One tag to cut out: large words, then lines to read or fill in.
void put_tag(Html& html, const std::string& title, const std::vector<std::string>& lines) {
  html.open("li", {{"class", "tag"}}).element("h3", title);
  for (const std::string& line : lines) {
    html.paragraph(line);
  }
  html.close();
}

constexpr const char* kLine = "____________________";

void put_do_not_operate(Html& html) {
  put_tag(html, "DO NOT OPERATE",
          {fmt::format("Name {}", kLine), fmt::format("Date {}", kLine),
           fmt::format("Reason {}", kLine), "Only the one who signed takes this tag off.",
           "On the cord, at the plug. [NAVY-SAFETY]"});
}

void put_line(Html& html, const core::Rig& rig) {
  put_tag(html, fmt::format("LINE SET FOR {} V", plain(rig.mains().nominal.si())),
          {fmt::format("{} to {} V, {} Hz", plain(rig.mains().low.si()),
                       plain(rig.mains().high.si()), plain(rig.mains().frequency.si()))});
  for (const core::Part& part : rig.parts) {
    if (const auto* fuse = std::get_if<core::Fuse>(&part.data)) {
      put_tag(html,
              fmt::format("FUSE {} A{}", plain(fuse->rating.si()),
                          !fuse->speed                            ? ""
                          : *fuse->speed == core::FuseSpeed::slow ? " SLOW"
                                                                  : " FAST"),
              {part.designator + ". No other rating, no other speed, no wire."});
    }
  }
}

/// Where to discharge, one tag a capacitor that holds a charge worth naming.
void put_discharge(Html& html, const SheetInput& input) {
  if (!input.answers.bleed.result) {
    put_tag(html, "DISCHARGE HERE", {"Volts and time not predicted: treat as charged."});
    return;
  }
  const BleedResult& bleed = *input.answers.bleed.result;
  for (const core::Part& part : input.rig.parts) {
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    if (capacitor == nullptr) {
      continue;
    }
    const auto start_v = start_volts(bleed, part.designator);
    if (start_v && *start_v <= bleed.limit.volts_for(capacitor->value.high().si())) {
      continue;  // never above the limit
    }
    const LongestDischarge intact =
        longest_discharge(bleed, part.designator, DischargePaths::intact);
    std::vector<std::string> lines{
        fmt::format("{}: {} and {}", part.designator, input.rig.node_name(capacitor->plus),
                    input.rig.node_name(capacitor->minus)),
        start_v ? fmt::format("up to {} V; {}: {}", significant(*start_v), bleed.limit.words,
                              discharge_words(intact))
                : std::string("volts not predicted: treat as charged")};
    if (input.answers.stick.result) {
      lines.push_back(
          fmt::format("stick {}, then hook", with_unit(input.answers.stick.result->ohm, "ohm")));
    }
    put_tag(html, "DISCHARGE HERE", lines);
  }
}

void put_bleeders(Html& html, const core::Rig& rig) {
  for (const core::Part& part : rig.parts) {
    const auto* resistor = std::get_if<core::Resistor>(&part.data);
    if (resistor != nullptr && resistor->role == core::ResistorRole::bleeder) {
      put_tag(
          html, "BLEEDER TESTED",
          {fmt::format("{}, {}", part.designator, with_unit(resistor->value.nominal().si(), "ohm")),
           fmt::format("ohms read {}", kLine), fmt::format("seconds {}", kLine),
           fmt::format("on {}", kLine)});
    }
  }
}

/// Cans whose case is not at the chassis, with the volts of their minus terminal.
void put_cans(Html& html, const SheetInput& input) {
  std::vector<StageVolts> stages;
  if (input.answers.rampup.result) {
    stages = stage_volts(input.rig, *input.answers.rampup.result);
  }
  const std::vector<NodeVolts> worst = worst_volts(input.rig, stages);
  for (const core::Part& part : input.rig.parts) {
    const auto* can = std::get_if<core::Capacitor>(&part.data);
    if (can == nullptr || can->dielectric != core::Dielectric::electrolytic ||
        can->minus == core::kChassis) {
      continue;
    }
    const std::string& node = input.rig.node_name(can->minus);
    const auto found = std::find_if(worst.begin(), worst.end(),
                                    [&node](const NodeVolts& volts) { return volts.node == node; });
    const bool known = found != worst.end() && found->volt_class != VoltClass::unknown;
    const bool negative = known && found->dc_v < 0.0;
    put_tag(html, negative ? "CAN BELOW CHASSIS" : "CAN AT HIGH VOLTS",
            {fmt::format("{}: case at {}{}", part.designator, node,
                         known ? fmt::format(", up to {} V DC, more for a moment at switch-on",
                                             significant(found->dc_v))
                               : ""),
             can->plus == core::kChassis ? "PLUS goes to the chassis."
                                         : "The sleeve is no insulation."});
  }
}

}  // namespace

Markup tags_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"tags", "Tags and stickers"});
  html.paragraph("Print this page alone, cut out, and fix where they belong.");
  html.open("ul", {{"class", "tags"}});
  put_do_not_operate(html);
  put_do_not_operate(html);
  put_discharge(html, input);
  put_bleeders(html, input.rig);
  put_line(html, input.rig);
  put_cans(html, input);
  put_tag(html, "TUBES OUT", {"No tube in any socket before the step page says so."});
  put_tag(html, "HIGH VOLTS HERE",
          {fmt::format("Where: {}", kLine), "Key, jack, meter or socket."});
  html.close().close();
  return html.take();
}

}  // namespace firstglow::sim
