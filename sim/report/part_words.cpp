#include "sim/report/part_words.hpp"

#include <fmt/format.h>

#include "sim/report/numbers.hpp"
#include "sim/report/tube_words.hpp"

namespace firstglow::sim {
namespace {

using core::NodeIndex;

template <class Q>
std::string rated(const char* name, const std::optional<Q>& value, const char* unit) {
  return value ? fmt::format("{} {}", name, with_unit(value->si(), unit))
               : fmt::format("{} not known", name);
}

std::string tolerance_words(const core::Tolerance& tolerance) {
  if (tolerance.minus == tolerance.plus) {
    return fmt::format("+/-{}", percent(tolerance.plus));
  }
  return fmt::format("-{} +{}", percent(tolerance.minus), percent(tolerance.plus));
}

const char* origin_words(core::ToleranceOrigin origin) {
  switch (origin) {
    case core::ToleranceOrigin::stated:
      return "as stated";
    case core::ToleranceOrigin::measured:
      return "of the meter";
    case core::ToleranceOrigin::assumed:
      break;
  }
  return "ASSUMED (common practice, no source)";
}

template <class Q>
std::vector<std::string> value_lines(const core::PartValue<Q>& value, const char* unit) {
  std::string first = with_unit(value.nominal().si(), unit);
  if (value.measured && value.marked) {
    first += fmt::format(" measured, marked {}", with_unit(value.marked->si(), unit));
  } else {
    first += value.measured ? " measured" : " as marked";
  }
  return {first, fmt::format("{} to {}: {} {}", with_unit(value.low().si(), unit),
                             with_unit(value.high().si(), unit), tolerance_words(value.tolerance),
                             origin_words(value.origin))};
}

const char* when_words(core::DrawnWhen when) {
  switch (when) {
    case core::DrawnWhen::always:
      return "always";
    case core::DrawnWhen::tubes_in:
      return "with the tubes in";
    case core::DrawnWhen::key_up:
      return "key up only";
    case core::DrawnWhen::key_down:
      break;
  }
  return "key down only";
}

const char* role_words(core::ResistorRole role) {
  switch (role) {
    case core::ResistorRole::bleeder:
      return "resistor (bleeder)";
    case core::ResistorRole::equaliser:
      return "resistor (equaliser)";
    case core::ResistorRole::dropper:
      return "resistor (dropper)";
    case core::ResistorRole::plain:
      break;
  }
  return "resistor";
}

const char* dielectric_words(core::Dielectric dielectric) {
  switch (dielectric) {
    case core::Dielectric::electrolytic:
      return "electrolytic capacitor";
    case core::Dielectric::film:
      return "film capacitor";
    case core::Dielectric::paper_oil:
      break;
  }
  return "paper/oil capacitor";
}

class Describer {
 public:
  explicit Describer(const core::Rig& rig) : rig_(rig) {}

  PartWords operator()(const core::MainsInlet& p) const {
    return {"mains inlet",
            fmt::format("line {}, neutral {}", name(p.line), name(p.neutral)),
            {fmt::format("{} rms, {}; low line {}, high line {}", with_unit(p.nominal.si(), "V"),
                         with_unit(p.frequency.si(), "Hz"), with_unit(p.low.si(), "V"),
                         with_unit(p.high.si(), "V")),
             fmt::format("source {}", with_unit(p.source_resistance.si(), "ohm"))}};
  }
  PartWords operator()(const core::Fuse& p) const {
    const std::string speed =
        !p.speed ? "speed not known" : (*p.speed == core::FuseSpeed::fast ? "fast" : "slow");
    return {"fuse",
            pair(p.a, p.b),
            {fmt::format("{}, {}{}, {}", with_unit(p.rating.si(), "A"), speed,
                         !p.standard                              ? ""
                         : *p.standard == core::FuseStandard::iec ? ", IEC"
                                                                  : ", UL",
                         rated("volts rms", p.volts, "V")),
             fmt::format("{}; cold {}", rated("melting I2t", p.melting_i2t, "A^2 s"),
                         with_unit(p.cold_resistance.si(), "ohm"))}};
  }
  PartWords operator()(const core::SeriesLamp& p) const {
    return {"series lamp",
            pair(p.a, p.b),
            {fmt::format("{} at {} rms, tungsten", with_unit(p.rated_watts.si(), "W"),
                         with_unit(p.rated_volts.si(), "V"))}};
  }
  PartWords operator()(const core::NtcLimiter& p) const {
    return {"thermistor against switch-on current",
            pair(p.a, p.b),
            {fmt::format("{} cold, {} at {} rms", with_unit(p.cold.si(), "ohm"),
                         with_unit(p.hot.si(), "ohm"), with_unit(p.rated_current.si(), "A")),
             fmt::format("B {}, thermal time {}", with_unit(p.beta.si(), "K"),
                         with_unit(p.thermal_time.si(), "s"))}};
  }
  PartWords operator()(const core::StepStart& p) const {
    return {"step start",
            pair(p.a, p.b),
            {fmt::format("{}, bridged {} after switch-on, {}", with_unit(p.resistance.si(), "ohm"),
                         with_unit(p.delay.si(), "s"), rated("watts", p.watts, "W"))}};
  }
  PartWords operator()(const core::Variac& p) const {
    return {"variac (isolates nothing)",
            fmt::format("input {}, output {}, common {}", name(p.input), name(p.output),
                        name(p.common)),
            {fmt::format("{}, {}, brush {}, {}", rated("output rms up to", p.max_output, "V"),
                         rated("rated rms", p.rated_current, "A"),
                         with_unit(p.output_resistance.si(), "ohm"),
                         rated("winding", p.winding_resistance, "ohm"))}};
  }
  PartWords operator()(const core::PowerTransformer& p) const {
    PartWords words{"power transformer", "see its windings", {}};
    words.lines.push_back(winding("primary", p.primary));
    for (const core::Winding& secondary : p.secondaries) {
      words.lines.push_back(winding(secondary.name, secondary));
    }
    words.lines.push_back(fmt::format("unloaded: {}, {}{}",
                                      rated("primary rms", p.no_load_current, "A"),
                                      rated("primary", p.no_load_watts, "W"),
                                      p.no_load_assumed ? ", ASSUMED, not measured" : ""));
    if (p.second_no_load_volts && p.second_no_load_current) {
      words.lines.push_back(fmt::format("unloaded on {} rms: {} rms",
                                        with_unit(p.second_no_load_volts->si(), "V"),
                                        with_unit(p.second_no_load_current->si(), "A")));
    }
    return words;
  }
  PartWords operator()(const core::SiliconDiode& p) const {
    PartWords words{
        "silicon diode", fmt::format("anode {}, cathode {}", name(p.anode), name(p.cathode)), {}};
    if (p.in_series > 1) {
      words.lines.push_back(
          fmt::format("{} in series, taken to share the volts evenly", p.in_series));
    }
    words.lines.push_back(fmt::format("each: {}, {}", rated("peak inverse", p.piv, "V"),
                                      rated("average", p.average_current, "A")));
    words.lines.push_back(fmt::format("each: {}, {}",
                                      rated("repetitive peak", p.repetitive_peak, "A"),
                                      rated("surge", p.surge_current, "A")));
    return words;
  }
  PartWords operator()(const core::VacuumRectifier& p) const {
    return {"vacuum rectifier",
            fmt::format("plates {} and {}, cathode {}", name(p.plate_1), name(p.plate_2),
                        name(p.cathode)),
            {heater(p.heater),
             fmt::format("drop {} at {} through one plate", with_unit(p.drop_volts.si(), "V"),
                         with_unit(p.drop_current.si(), "A")),
             fmt::format("{}, {}, {}", rated("peak inverse", p.piv, "V"),
                         rated("DC", p.dc_current, "A"), rated("peak", p.steady_peak, "A")),
             fmt::format("{}, {}", rated("hot-switching peak", p.hot_switching_peak, "A"),
                         rated("largest input capacitor", p.largest_capacitor, "F"))}};
  }
  PartWords operator()(const core::GasRectifier& p) const {
    PartWords words{
        "gas rectifier",
        fmt::format("plate {}, cathode {}", name(p.plate), name(p.cathode)),
        {heater(p.heater),
         fmt::format("drop {}, {}", with_unit(p.drop_volts.si(), "V"), rated("PIV", p.piv, "V")),
         fmt::format("{}, {}, {}", rated("average", p.average_current, "A"),
                     rated("peak", p.steady_peak, "A"), rated("surge", p.surge_current, "A"))}};
    if (p.first_use) {
      words.lines.push_back(fmt::format("first use and after moving: filament alone for {}",
                                        with_unit(p.first_use->si(), "s")));
    }
    return words;
  }
  PartWords operator()(const core::SeleniumRectifier& p) const {
    return {
        "selenium rectifier",
        fmt::format("anode {}, cathode {}", name(p.anode), name(p.cathode)),
        {fmt::format("{} plates, {} each at {}{}", p.plates, with_unit(p.drop_per_plate.si(), "V"),
                     with_unit(p.average_current.si(), "A"),
                     p.drop_assumed ? ", ASSUMED (common practice, no source)" : ""),
         fmt::format("{}, {}", rated("peak inverse of a plate", p.piv_per_plate, "V"),
                     rated("surge", p.surge_current, "A"))}};
  }
  PartWords operator()(const core::Resistor& p) const {
    PartWords words{role_words(p.role), pair(p.a, p.b), value_lines(p.value, "ohm")};
    words.lines.push_back(fmt::format("{}, {}", rated("watts", p.watts, "W"),
                                      rated("working volts", p.working_volts, "V")));
    return words;
  }
  PartWords operator()(const core::Capacitor& p) const {
    PartWords words{dielectric_words(p.dielectric),
                    fmt::format("plus {}, minus {}", name(p.plus), name(p.minus)),
                    value_lines(p.value, "F")};
    words.lines.push_back(fmt::format("{}, {}", rated("working volts", p.working_volts, "V"),
                                      rated("surge", p.surge_volts, "V")));
    words.lines.push_back(fmt::format("series resistance {}{}, {}, {}",
                                      with_unit(p.esr.si(), "ohm"), p.esr_assumed ? " ASSUMED" : "",
                                      rated("leakage", p.leakage, "A"),
                                      rated("ripple rms", p.ripple_current, "A")));
    return words;
  }
  PartWords operator()(const core::Choke& p) const {
    PartWords words{"choke", pair(p.a, p.b), value_lines(p.value, "H")};
    if (p.loaded_inductance && p.loaded_current) {
      words.lines.push_back(fmt::format(
          "that at {} DC, {} at {} DC", with_unit(p.value_current.si(), "A"),
          with_unit(p.loaded_inductance->si(), "H"), with_unit(p.loaded_current->si(), "A")));
    }
    words.lines.push_back(fmt::format("winding {}, {}, {}", with_unit(p.dc_resistance.si(), "ohm"),
                                      rated("rated DC", p.rated_current, "A"),
                                      rated("insulation", p.insulation_volts, "V")));
    return words;
  }
  PartWords operator()(const core::ResistiveLoad& p) const {
    return load("load, resistive", p.plus, p.minus, p.when, value_lines(p.value, "ohm"));
  }
  PartWords operator()(const core::CurrentLoad& p) const {
    return load("load, constant current", p.plus, p.minus, p.when, value_lines(p.value, "A"));
  }
  PartWords operator()(const core::Heater& p) const {
    return {"heater",
            pair(p.a, p.b),
            {fmt::format("{} rms rated, {} hot, {} cold", with_unit(p.rated_volts.si(), "V"),
                         with_unit(p.hot.si(), "ohm"), with_unit(p.cold.si(), "ohm"))}};
  }
  PartWords operator()(const core::VrTube& p) const { return tube_words(rig_, p); }
  PartWords operator()(const core::PowerTube& p) const { return tube_words(rig_, p); }

 private:
  [[nodiscard]] const std::string& name(NodeIndex node) const { return rig_.node_name(node); }
  [[nodiscard]] std::string heater(const core::RectifierHeater& h) const {
    return fmt::format("{} {} to {}: {} rms, {}, {}", h.direct ? "filament" : "heater", name(h.a),
                       name(h.b), with_unit(h.rated_volts.si(), "V"),
                       with_unit(h.rated_current.si(), "A"), rated("warm-up", h.warm_up, "s"));
  }
  [[nodiscard]] std::string pair(NodeIndex a, NodeIndex b) const {
    return fmt::format("{} to {}", name(a), name(b));
  }
  [[nodiscard]] PartWords load(const char* kind, NodeIndex plus, NodeIndex minus,
                               core::DrawnWhen when, std::vector<std::string> lines) const {
    lines.push_back(fmt::format("drawn {}", when_words(when)));
    return {kind, fmt::format("plus {}, minus {}", name(plus), name(minus)), std::move(lines)};
  }
  [[nodiscard]] std::string winding(const std::string& title, const core::Winding& w) const {
    std::string text = fmt::format("{}: ", title);
    for (std::size_t i = 0; i < w.nodes.size(); ++i) {
      if (i > 0) {
        text += fmt::format(" - {} rms, {} - ", with_unit(w.section_volts.at(i - 1).si(), "V"),
                            with_unit(w.section_ohms.at(i - 1).si(), "ohm"));
      }
      text += name(w.nodes[i]);
    }
    return text + "; " + rated("rated rms", w.rated_current, "A");
  }

  const core::Rig& rig_;
};

}  // namespace

PartWords part_words(const core::Rig& rig, const core::Part& part) {
  PartWords words = std::visit(Describer(rig), part.data);
  if (!part.type.empty()) {
    words.kind += " " + part.type;
  }
  if (!part.note.empty()) {
    words.lines.push_back("note: " + part.note);
  }
  return words;
}

}  // namespace firstglow::sim
