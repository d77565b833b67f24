#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/longest_discharge.hpp"
#include "sim/report/sheet/rig_drawing.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/volt_class.hpp"

namespace firstglow::sim {
namespace {

std::string volts_words(const NodeVolts& node) {
  std::string words = node.node;
  if (std::abs(node.dc_v) >= 1.0) {
    words += fmt::format(" {} V DC", significant(node.dc_v));
  }
  if (node.ac_vrms >= 1.0) {
    words += fmt::format(" {} V AC", significant(node.ac_vrms));
  }
  return words;
}

/// The nodes of a class, the highest first.
std::string nodes_of(const StageVolts& stage, VoltClass wanted) {
  std::vector<NodeVolts> nodes;
  std::copy_if(stage.nodes.begin(), stage.nodes.end(), std::back_inserter(nodes),
               [wanted](const NodeVolts& node) { return node.volt_class == wanted; });
  std::stable_sort(nodes.begin(), nodes.end(),
                   [](const NodeVolts& a, const NodeVolts& b) { return a.peak_v > b.peak_v; });
  std::string words;
  for (const NodeVolts& node : nodes) {
    words += (words.empty() ? "" : "; ") + volts_words(node);
  }
  return words.empty() ? "none" : words;
}

void put_stages(Html& html, const std::vector<StageVolts>& stages) {
  HtmlTable table("Nodes above the touch limit at full variac, worst of tolerance and line",
                  {{"Stage"}, {"Over 600 V"}, {"60 to 600 V"}, {"42 to 60 V"}});
  for (const StageVolts& stage : stages) {
    if (!stage.known) {
      table.row({netlists::stage_words(stage.stage), "NO PREDICTION: treat every node as live", "-",
                 "-"});
      continue;
    }
    table.row({netlists::stage_words(stage.stage), nodes_of(stage, VoltClass::above_600),
               nodes_of(stage, VoltClass::from_60), nodes_of(stage, VoltClass::from_42)});
  }
  html.table(table);
  html.paragraph(
      "Class by the highest instant a node can reach: its DC and the whole swing of its AC. "
      "DC and AC as a meter shows them.");
}

void put_mains_side(Html& html, const core::Rig& rig) {
  const std::vector<bool> mains = on_mains_side(rig);
  std::string names;
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    if (mains[i]) {
      names += (names.empty() ? "" : ", ") + rig.nodes[i].name;
    }
  }
  html.element("p",
               fmt::format("Mains side, live whenever the plug is in, at every setting of variac "
                           "and switch: {}.",
                           names),
               {{"class", "remarks"}});
}

/// Part, volts at switch-off, times: intact, and with the worst path open.
void put_charged(Html& html, const core::Rig& rig, const BleedResult& bleed) {
  HtmlTable table(fmt::format("Still charged when it is off: time to fall {}", bleed.limit.words),
                  {{"Capacitor"},
                   {"From, V", HtmlColumnKind::number},
                   {"All paths intact", HtmlColumnKind::number},
                   {"Worst single path open"}});
  for (const core::Part& part : rig.parts) {
    if (!std::holds_alternative<core::Capacitor>(part.data)) {
      continue;
    }
    const std::string& name = part.designator;
    const auto start_v = start_volts(bleed, name);
    const LongestDischarge intact = longest_discharge(bleed, name, DischargePaths::intact);
    const LongestDischarge open = longest_discharge(bleed, name, DischargePaths::one_open);
    table.row({name, start_v ? significant(*start_v) : "not known", discharge_words(intact),
               discharge_words(open) + (open.answered ? ": " + open.case_name : "")});
  }
  html.table(table);
}

/// Cans whose minus terminal, and with it the case, is not at the chassis.
void put_cases(Html& html, const core::Rig& rig, const std::vector<NodeVolts>& worst) {
  std::vector<std::string> lines;
  for (const core::Part& part : rig.parts) {
    const auto* can = std::get_if<core::Capacitor>(&part.data);
    if (can == nullptr || can->dielectric != core::Dielectric::electrolytic ||
        can->minus == core::kChassis) {
      continue;
    }
    const std::string& node = rig.node_name(can->minus);
    const auto found = std::find_if(worst.begin(), worst.end(),
                                    [&node](const NodeVolts& volts) { return volts.node == node; });
    const bool known = found != worst.end() && found->volt_class != VoltClass::unknown;
    lines.push_back(fmt::format(
        "{}: its case can stand at {}, {}. The sleeve is no insulation.", part.designator, node,
        known
            ? fmt::format("up to {} V DC, more for a moment at switch-on", significant(found->dc_v))
            : std::string("volts not predicted")));
  }
  html.element("h3", "Cans that are not at the chassis");
  if (lines.empty()) {
    html.paragraph(
        "By the record the minus terminal of every electrolytic is at the chassis. "
        "Measure case to chassis all the same.");
  }
  html.list(lines);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
  return text;
}

bool speaks_of_outside(const std::string& text) {
  constexpr std::array<const char*, 8> kWords{"key",       "meter", "jack",    "socket",
                                              "connector", "relay", "antenna", "microphone"};
  const std::string words = lower(text);
  return std::any_of(kWords.begin(), kWords.end(),
                     [&words](const char* word) { return words.find(word) != std::string::npos; });
}

/// Key, meters, connectors: what the record says of them, by its own words.
void put_outside(Html& html, const core::Rig& rig, const std::vector<NodeVolts>& worst) {
  std::vector<std::string> lines;
  for (const NodeVolts& node : worst) {
    if (speaks_of_outside(node.node)) {
      lines.push_back(fmt::format("Node {}: {}.", volts_words(node), class_words(node.volt_class)));
    }
  }
  for (const core::Part& part : rig.parts) {
    if (speaks_of_outside(part.note) || speaks_of_outside(part.designator)) {
      lines.push_back(part.designator + (part.note.empty() ? "" : ": " + part.note));
    }
    const auto* tube = std::get_if<core::PowerTube>(&part.data);
    if (tube != nullptr && tube->key == core::TubeKey::cathode) {
      lines.push_back(fmt::format("{} is keyed in its cathode: the open key has high volts on it.",
                                  part.designator));
    }
  }
  html.element("h3", "Key, meters, sockets");
  html.list(lines);
  html.paragraph(
      "The record draws no key, meter or socket of its own. Before power, with the ohmmeter: which "
      "pin, jack or meter terminal leads to a node of the list above? Tag each one.");
}

}  // namespace

Markup volts_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"volts", "Where the volts are"});
  std::vector<StageVolts> stages;
  if (input.answers.rampup.result) {
    stages = stage_volts(input.rig, *input.answers.rampup.result);
  }
  const std::vector<NodeVolts> worst = worst_volts(input.rig, stages);
  put_mains_side(html, input.rig);
  if (input.answers.rampup.result) {
    put_stages(html, stages);
  } else {
    put_no_answer(html, input.answers.rampup.failure);
  }
  if (input.answers.bleed.result) {
    put_charged(html, input.rig, *input.answers.bleed.result);
  } else {
    put_no_answer(html, input.answers.bleed.failure);
  }
  put_cases(html, input.rig, worst);
  put_outside(html, input.rig, worst);
  html.paste(rig_drawing(input.rig, worst));  // fills a page of its own
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
