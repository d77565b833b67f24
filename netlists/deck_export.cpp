#include "netlists/deck_export.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>
#include <utility>

#include "core/error.hpp"
#include "netlists/spice_text.hpp"

namespace firstglow::netlists {
namespace {

constexpr std::size_t kLongestName = 80;
constexpr double kStepsPerCycle = 200.0;

/// The user's words, short enough for one line.
std::string_view cut(const std::string& words) {
  return std::string_view(words).substr(0, kLongestName);
}

void append_situation(SpiceLines& lines, const core::Rig& rig, const Situation& situation) {
  const core::MainsInlet& inlet = rig.mains();
  lines.push_back(fmt::format("stage: {}", stage_words(situation.stage)));
  if (situation.mains_on) {
    lines.push_back(
        fmt::format("mains: {} V rms {} Hz at the socket, variac setting {}, "
                    "switched on at {} degrees of the sine",
                    situation.line.value_or(inlet.nominal).si(), inlet.frequency.si(),
                    situation.variac_setting, situation.closing_angle_deg));
  } else {
    lines.emplace_back("mains: unplugged");
  }
  if (situation.lamp) {
    lines.push_back(fmt::format("lamp in series: {} W {} V", situation.lamp->rated_watts.si(),
                                situation.lamp->rated_volts.si()));
  }
  for (const auto& [designator, corner] : situation.corner) {
    lines.push_back(
        fmt::format("tolerance: {} at {} of its band (-1 low, +1 high)", cut(designator), corner));
  }
  for (const std::string& designator : situation.lifted) {
    lines.push_back(fmt::format("lifted: {}", cut(designator)));
  }
  for (const std::string& designator : situation.cold_rectifiers) {
    lines.push_back(fmt::format("cold, does not conduct: {}", cut(designator)));
  }
}

/// Which winding section a current belongs to, e.g. " plate section 2"; empty for other parts.
std::string section_words(const core::Part& part, int section) {
  if (core::rectifier_heater(part) != nullptr) {
    return section == kRectifierHeaterSection ? std::string(" heater")
                                              : fmt::format(" plate {}", section + 1);
  }
  const auto* iron = std::get_if<core::PowerTransformer>(&part.data);
  if (iron == nullptr) {
    return {};
  }
  int number = section;
  const auto words = [&](const core::Winding& winding, const std::string& name) {
    const int count = static_cast<int>(winding.section_volts.size());
    const bool here = number >= 0 && number < count;
    const std::string which = count > 1 ? fmt::format(" section {}", number + 1) : std::string();
    number -= count;
    return here ? fmt::format(" {}{}", cut(name), which) : std::string();
  };
  std::string found = words(iron->primary, "primary");
  for (const core::Winding& winding : iron->secondaries) {
    found += words(winding, winding.name);
  }
  return found;
}

/// Title page of the netlist, without the comment mark.
SpiceLines header(const core::Rig& rig, const Situation& situation, const BuiltDeck& built) {
  SpiceLines lines{
      "HIGH VOLTAGE. A simulation shows what an ideal rig would do, not what is in front of you.",
      "Before touching: plug out, wait, measure, short with a stick, measure again. Not alone.",
      "Local codes and licensed practice come first.",
      situation.core_model == CoreModel::linear
          ? "Linear core: the true first mains peak is higher. Not modelled: dielectric rebound."
          : "Not modelled: dielectric rebound.",
      "Run it with: ngspice -b -r result.raw FILE",
  };
  lines.push_back(fmt::format("rig: {}", cut(rig.name)));
  append_situation(lines, rig, situation);
  lines.emplace_back("nodes (0 is the chassis):");
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    if (built.node_of[i]) {
      lines.push_back(
          fmt::format("node {} = {}", spice_node(*built.node_of[i]), cut(rig.nodes[i].name)));
    }
  }
  lines.emplace_back("currents:");
  for (const PartCurrent& current : built.currents) {
    const core::Part& part = rig.parts[static_cast<std::size_t>(current.part)];
    lines.push_back(fmt::format("current of {}{} = element {}", cut(part.designator),
                                section_words(part, current.section),
                                spice_element(built.deck, current.element)));
  }
  return lines;
}

std::string helper_words(const BuiltDeck& built, ElementIndex element) {
  const auto among = [element](const std::vector<ElementIndex>& list) {
    return std::find(list.begin(), list.end(), element) != list.end();
  };
  if (built.lamp == element) {
    return "test lamp in series with the mains";
  }
  if (among(built.meters)) {
    return "meter of 10 Mohm on a rectifier output";
  }
  if (among(built.ties)) {
    return "tie that gives a floating island a reference";
  }
  return "helper";
}

}  // namespace

std::string export_deck(const core::Rig& rig, const Situation& situation, const BuiltDeck& as_run,
                        const ExportOptions& options) {
  FIRSTGLOW_REQUIRE(
      as_run.node_of.size() == rig.nodes.size() && as_run.part_in.size() == rig.parts.size(),
      "a deck is exported with the rig it was built from");
  BuiltDeck built = as_run;
  built.deck = with_ammeters(std::move(built.deck));
  const double cycle_s = 1.0 / rig.mains().frequency.si();
  const SpiceTransient transient{
      options.stop_s, options.max_step_s > 0.0 ? options.max_step_s : cycle_s / kStepsPerCycle, 0.0,
      options.gear};
  int last_part = -2;
  const ElementNotes notes = [&](ElementIndex index) {
    const int part = built.deck.elements[static_cast<std::size_t>(index)].part;
    const bool same = part == last_part && part >= 0;
    last_part = part;
    if (same) {
      return SpiceLines{};
    }
    if (part < 0) {
      return SpiceLines{helper_words(built, index)};
    }
    const core::Part& record = rig.parts[static_cast<std::size_t>(part)];
    return SpiceLines{fmt::format("part {}: {}{}{}", cut(record.designator), record.kind,
                                  record.type.empty() ? "" : " ", cut(record.type))};
  };
  const SpiceLines deck = spice_deck("written by firstglow", built.deck, transient, {}, notes);
  std::string text = deck.front() + "\n";
  for (const std::string& line : header(rig, situation, built)) {
    text += spice_comment(line) + "\n";
  }
  for (std::size_t i = 1; i < deck.size(); ++i) {
    text += deck[i] + "\n";
  }
  return text;
}

}  // namespace firstglow::netlists
