#include "sim/report/sheet/dead_blanks.hpp"

#include <fmt/format.h>

namespace firstglow::sim {
namespace {

constexpr double kWindingShare = 0.10;

Blank ohms_blank(const std::vector<std::string>& tail, const std::string& label,
                 const ReadingLimits& limits) {
  Blank blank;
  std::vector<std::string> parts{"dead"};
  parts.insert(parts.end(), tail.begin(), tail.end());
  blank.id = blank_id(parts);
  blank.label = label;
  blank.unit = "ohm";
  const ReadingLimits printed = as_printed(limits, PrintedDigits::three);
  blank.low = printed.low;
  blank.expected = printed.expected;
  blank.high = printed.high;
  return blank;
}

WindingBlank winding_blank(const core::Rig& rig, const std::string& name,
                           const std::vector<std::string>& id, core::NodeIndex a, core::NodeIndex b,
                           double ohm) {
  WindingBlank one;
  one.winding = name;
  one.between = fmt::format("{} to {}", rig.node_name(a), rig.node_name(b));
  std::vector<std::string> tail{"winding"};
  tail.insert(tail.end(), id.begin(), id.end());
  const ReadingLimits limits{ohm * (1.0 - kWindingShare), ohm, ohm * (1.0 + kWindingShare),
                             std::nullopt, std::nullopt};
  one.blank = ohms_blank(tail, fmt::format("{}, {}, ohms", name, one.between), limits);
  one.blank.where = one.between;
  return one;
}

void add_sections(std::vector<WindingBlank>& blanks, const core::Rig& rig, const std::string& part,
                  const core::Winding& winding) {
  for (std::size_t i = 0; i < winding.section_ohms.size(); ++i) {
    blanks.push_back(winding_blank(
        rig, part + " " + winding.name, {part, winding.name, fmt::format("{}", i + 1)},
        winding.nodes.at(i), winding.nodes.at(i + 1), winding.section_ohms[i].si()));
  }
}

}  // namespace

std::vector<Blank> node_ohms_blanks(const CheckResult& check) {
  std::vector<Blank> blanks;
  for (const OhmsReading& reading : check.ohms) {
    ReadingLimits limits;
    if (!reading.red_ohm) {
      limits.low = kOpenFromOhm;
      limits.high = kOpenOhm;
    } else if (!reading.red_through_rectifier) {
      limits = {reading.red_low_ohm, reading.red_ohm, reading.red_high_ohm.value_or(kOpenOhm),
                std::nullopt, std::nullopt};
    }
    blanks.push_back(
        ohms_blank({"ohms", reading.node}, reading.node + " to chassis, ohms", limits));
    blanks.back().where = "red on " + reading.node + ", black on the chassis";
  }
  return blanks;
}

std::vector<Blank> bleeder_blanks(const core::Rig& rig) {
  std::vector<Blank> blanks;
  for (const core::Part& part : rig.parts) {
    const auto* resistor = std::get_if<core::Resistor>(&part.data);
    if (resistor != nullptr && (resistor->role == core::ResistorRole::bleeder ||
                                resistor->role == core::ResistorRole::equaliser)) {
      blanks.push_back(ohms_blank({"part", part.designator}, part.designator + ", ohms",
                                  {resistor->value.low().si(), resistor->value.nominal().si(),
                                   resistor->value.high().si(), std::nullopt, std::nullopt}));
      blanks.back().where = "across " + part.designator + ", one end lifted";
    }
  }
  return blanks;
}

std::vector<WindingBlank> winding_blanks(const core::Rig& rig) {
  std::vector<WindingBlank> blanks;
  for (const core::Part& part : rig.parts) {
    if (const auto* transformer = std::get_if<core::PowerTransformer>(&part.data)) {
      add_sections(blanks, rig, part.designator, transformer->primary);
      for (const core::Winding& secondary : transformer->secondaries) {
        add_sections(blanks, rig, part.designator, secondary);
      }
    } else if (const auto* choke = std::get_if<core::Choke>(&part.data)) {
      blanks.push_back(winding_blank(rig, part.designator, {part.designator}, choke->a, choke->b,
                                     choke->dc_resistance.si()));
    }
  }
  return blanks;
}

}  // namespace firstglow::sim
