#include "netlists/spice_text.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <numbers>
#include <tuple>

#include "core/error.hpp"
#include "netlists/coil_text.hpp"
#include "netlists/radiation.hpp"
#include "netlists/tube_current.hpp"

namespace firstglow::netlists {
namespace {

const ElementData& data_of(const Deck& deck, ElementIndex element) {
  FIRSTGLOW_REQUIRE(element >= 0 && element < static_cast<int>(deck.elements.size()),
                    "an element index belongs to the deck");
  return deck.elements[static_cast<std::size_t>(element)].data;
}

/// SPICE letter of an element.
struct Letter {
  char operator()(const ResistorElement&) const { return 'r'; }
  char operator()(const CapacitorElement&) const { return 'c'; }
  char operator()(const InductorElement&) const { return 'l'; }
  char operator()(const SineSourceElement& e) const { return e.ramp_v_per_s == 0.0 ? 'v' : 'b'; }
  char operator()(const DcSourceElement&) const { return 'v'; }
  char operator()(const DiodeElement&) const { return 'd'; }
  char operator()(const VoltageFollowerElement&) const { return 'e'; }
  char operator()(const CurrentMirrorElement&) const { return 'f'; }
  char operator()(const WindingElement&) const { return 'g'; }
  char operator()(const CurrentSinkElement&) const { return 'b'; }
  char operator()(const ThermalResistorElement&) const { return 'b'; }
  char operator()(const VacuumDiodeElement&) const { return 'b'; }
  char operator()(const SaturatingCoilElement&) const { return 'b'; }
  char operator()(const SinhCoilElement&) const { return 'b'; }
  char operator()(const NtcElement&) const { return 'b'; }
  char operator()(const SpaceCurrentElement&) const { return 'b'; }
  char operator()(const GridDriveElement&) const { return 'b'; }
};

/// Writes one element after the other into `lines`; models come out at the end, one per
/// distinct set of parameters.
class ElementWriter {
 public:
  explicit ElementWriter(SpiceLines& lines) : lines_(lines) {}

  void write(ElementIndex index, const ElementData& data) {
    index_ = index;
    std::visit(*this, data);
  }

  void operator()(const ResistorElement& e) const { two_pole('r', e.a, e.b, spice_number(e.ohm)); }
  void operator()(const CapacitorElement& e) const {
    two_pole('c', e.a, e.b, spice_number(e.farad) + " ic=" + spice_number(e.start_v));
  }
  void operator()(const InductorElement& e) const {
    two_pole('l', e.a, e.b, spice_number(e.henry) + " ic=" + spice_number(e.start_a));
  }
  void operator()(const SineSourceElement& e) const {
    if (e.ramp_v_per_s != 0.0) {
      const double radians = std::numbers::pi * e.phase_deg / 180.0;
      two_pole('b', e.a, e.b,
               fmt::format("v=({}+{}*time)*sin({}*time+{})", spice_number(e.peak_v),
                           spice_number(e.ramp_v_per_s),
                           spice_number(2.0 * std::numbers::pi * e.hz), spice_number(radians)));
      return;
    }
    two_pole('v', e.a, e.b,
             fmt::format("sin(0 {} {} 0 0 {})", spice_number(e.peak_v), spice_number(e.hz),
                         spice_number(e.phase_deg)));
  }
  void operator()(const DcSourceElement& e) const {
    two_pole('v', e.a, e.b, "dc " + spice_number(e.volts));
  }
  void operator()(const VoltageFollowerElement& e) const {
    two_pole('e', e.a, e.b, fmt::format("{} 0 {}", spice_node(e.control), spice_number(e.gain)));
  }
  void operator()(const CurrentMirrorElement& e) const {
    two_pole('f', 0, e.into, fmt::format("v{} {}", e.sense, spice_number(e.gain)));
  }
  // Solved for its current, i = (v(a,b) - ratio v(core)) / ohm, and with it ratio * i into the
  // core: conductances only, where a source for the ratio would cost the solver four more unknowns.
  void operator()(const WindingElement& e) const {
    two_pole('r', e.a, e.b, spice_number(e.ohm));
    if (e.ratio == 0.0 || e.core == 0) {
      return;
    }
    const std::string siemens = spice_number(e.ratio / e.ohm);
    two_pole('g', e.b, e.a, fmt::format("{} 0 {}", spice_node(e.core), siemens));
    lines_.push_back(fmt::format("g{}h 0 {} {} {} {}", index_, spice_node(e.core), spice_node(e.a),
                                 spice_node(e.b), siemens));
    lines_.push_back(fmt::format("r{}h {} 0 {}", index_, spice_node(e.core),
                                 spice_number(e.ohm / (e.ratio * e.ratio))));
  }
  void operator()(const CurrentSinkElement& e) const {
    const std::string v = spice_volts_between(e.a, e.b);
    two_pole('b', e.a, e.b,
             fmt::format("i={}*{}/sqrt({}*{}+{})", spice_number(e.amps), v, v, v,
                         spice_number(e.knee_v * e.knee_v)));
  }
  void operator()(const VacuumDiodeElement& e) const {
    two_pole('b', e.anode, e.cathode,
             fmt::format("i={}*pow(max({},0),1.5)", spice_number(e.perveance),
                         spice_volts_between(e.anode, e.cathode)));
  }
  // The series resistance stands outside the model: its current obeys Kirchhoff's law to the
  // last digit, where the solver's own diode current is up to 0.3 % off at steep points.
  void operator()(const DiodeElement& e) {
    const auto key = std::make_tuple(e.saturation_a, e.emission, e.junction_f);
    const auto found = models_.try_emplace(key, models_.size() + 1);
    lines_.push_back(
        fmt::format("d{} {} x{} m{}", index_, spice_node(e.anode), index_, found.first->second));
    lines_.push_back(fmt::format("r{} x{} {} {}", index_, index_, spice_node(e.cathode),
                                 spice_number(e.series_ohm)));
  }
  // Kelvin as volts on x<index>. The clamps only serve the solver's first guesses: below 150 K
  // the resistance and above 20000 K the radiation no longer change.
  void operator()(const ThermalResistorElement& e) const {
    const std::string v = spice_volts_between(e.a, e.b);
    const std::string kelvin = fmt::format("min(max(v(x{}),150),20000)", index_);
    const std::string ohm = fmt::format("({}*pow({}/300,{}))", spice_number(e.cold_ohm), kelvin,
                                        spice_number(e.exponent));
    const double room = std::pow(300.0 / e.hot_k, kRadiationExponent);
    two_pole('b', e.a, e.b, fmt::format("i={}/{}", v, ohm));
    lines_.push_back(fmt::format("b{}h 0 x{} i={}*{}/{}-{}*(pow({}/{},{})-{})", index_, index_, v,
                                 v, ohm, spice_number(e.hot_w / (1.0 - room)), kelvin,
                                 spice_number(e.hot_k), kRadiationExponent, spice_number(room)));
    lines_.push_back(fmt::format("c{} x{} 0 {} ic={}", index_, index_, spice_number(e.heat_j_per_k),
                                 spice_number(e.start_k)));
  }

  void operator()(const SaturatingCoilElement& e) const { append(coil_lines(index_, e)); }
  void operator()(const SinhCoilElement& e) const { append(coil_lines(index_, e)); }
  void operator()(const NtcElement& e) const { append(ntc_lines(index_, e)); }

  void write_models() const {
    for (const auto& [key, number] : models_) {
      const auto& [saturation_a, emission, junction_f] = key;
      lines_.push_back(fmt::format(".model m{} d(is={} n={} cjo={})", number,
                                   spice_number(saturation_a), spice_number(emission),
                                   spice_number(junction_f)));
    }
  }
  void operator()(const SpaceCurrentElement& e) const {
    two_pole('b', e.a, e.b, "i=" + current_text(e));
  }
  void operator()(const GridDriveElement& e) const {
    two_pole('b', e.a, e.b, "i=" + current_text(e));
  }

 private:
  void append(const SpiceLines& lines) const {
    lines_.insert(lines_.end(), lines.begin(), lines.end());
  }
  void two_pole(char letter, DeckNode a, DeckNode b, const std::string& rest) const {
    lines_.push_back(
        fmt::format("{}{} {} {} {}", letter, index_, spice_node(a), spice_node(b), rest));
  }

  SpiceLines& lines_;
  ElementIndex index_ = 0;
  std::map<std::tuple<double, double, double>, std::size_t> models_;
};

/// Two solutions of one step that differ by less than this in every branch current are the same
/// [A].
constexpr const char* kSettledAmps = "1e-9";

bool is_letter_or_digit(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

std::string cleaned(std::string_view text) {
  constexpr std::string_view kHarmless = " .,:=+-()/_%";
  std::string clean;
  for (const char c : text) {
    clean += is_letter_or_digit(c) || kHarmless.find(c) != std::string_view::npos ? c : '?';
  }
  return clean;
}

bool is_plain_card(const std::string& line) {
  constexpr std::string_view kElementLetters = "rclvdefgb";
  constexpr std::string_view kAllowed = " .,=+-*/()@[]#^";
  constexpr std::array<std::string_view, 5> kCards{".model ", ".options ", ".save ", ".tran ",
                                                   ".end"};
  for (const char c : line) {
    if (!is_letter_or_digit(c) && kAllowed.find(c) == std::string_view::npos) {
      return false;
    }
  }
  if (line.size() >= 2 && line[0] != '.') {
    return kElementLetters.find(line[0]) != std::string_view::npos && line[1] >= '0' &&
           line[1] <= '9';
  }
  for (const std::string_view card : kCards) {
    if (line.starts_with(card) && (card != ".end" || line == ".end")) {
      return true;
    }
  }
  return false;
}

}  // namespace

std::string spice_number(double value) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a number in a SPICE deck is finite");
  std::array<char, 40> buffer{};
  const auto result = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), result.ptr};
}

std::string spice_node(DeckNode node) {
  return node == 0 ? std::string("0") : fmt::format("n{}", node);
}

std::string spice_volts_between(DeckNode a, DeckNode b) {
  if (a == b) {
    return "0";
  }
  if (b == 0) {
    return fmt::format("v({})", spice_node(a));
  }
  if (a == 0) {
    return fmt::format("(0-v({}))", spice_node(b));
  }
  return fmt::format("v({},{})", spice_node(a), spice_node(b));
}

std::string spice_element(const Deck& deck, ElementIndex element) {
  return fmt::format("{}{}", std::visit(Letter{}, data_of(deck, element)), element);
}

std::string spice_inner_node(const Deck& deck, ElementIndex element) {
  const ElementData& data = data_of(deck, element);
  FIRSTGLOW_REQUIRE(std::holds_alternative<DiodeElement>(data) ||
                        std::holds_alternative<ThermalResistorElement>(data) ||
                        std::holds_alternative<SaturatingCoilElement>(data) ||
                        std::holds_alternative<SinhCoilElement>(data) ||
                        std::holds_alternative<NtcElement>(data),
                    "only diodes, coils, thermistors and thermal resistors have an inner node");
  return fmt::format("x{}", element);
}

std::string spice_comment(std::string_view text) { return "* " + cleaned(text); }

SpiceLines spice_elements(const Deck& deck, const ElementNotes& notes) {
  check_deck(deck);
  SpiceLines lines;
  ElementWriter writer(lines);
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    const auto index = static_cast<ElementIndex>(i);
    if (notes) {
      for (const std::string& note : notes(index)) {
        lines.push_back(spice_comment(note));
      }
    }
    writer.write(index, deck.elements[i].data);
  }
  writer.write_models();
  return lines;
}

SpiceLines spice_analysis(const SpiceTransient& transient) {
  FIRSTGLOW_REQUIRE(std::isfinite(transient.stop_s) && transient.stop_s > 0.0,
                    "a transient ends after 0 s");
  FIRSTGLOW_REQUIRE(std::isfinite(transient.max_step_s) && transient.max_step_s > 0.0,
                    "a transient has a largest step above 0 s");
  FIRSTGLOW_REQUIRE(transient.keep_from_s >= 0.0 && transient.keep_from_s < transient.stop_s,
                    "a transient keeps points from a time between 0 and its end");
  // ngspice reserves stop/step points at once, so the printing step is the largest step.
  const std::string step = spice_number(transient.max_step_s);
  // abstol: a winding of 3 mohm that stands at 1 kV leaves rounding of 1e-10 A in its node, which
  // the library's own 1 pA would take for not yet settled.
  const std::string method = transient.gear ? "method=gear" : "xmu=0.49";
  return {fmt::format(".options {} abstol={}", method, kSettledAmps),
          fmt::format(".tran {} {} {} {} uic", step, spice_number(transient.stop_s),
                      spice_number(transient.keep_from_s), step)};
}

SpiceLines spice_save(const std::vector<std::string>& names) {
  constexpr std::size_t kNamesPerLine = 8;
  SpiceLines lines;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i % kNamesPerLine == 0) {
      lines.emplace_back(".save");
    }
    lines.back() += ' ' + names[i];
  }
  return lines;
}

SpiceLines spice_deck(std::string_view title, const Deck& deck, const SpiceTransient& transient,
                      const std::vector<std::string>& save, const ElementNotes& notes) {
  // A first line that starts with `*` or `.` may be read as more than a title.
  SpiceLines lines{"deck " + cleaned(title)};
  for (const SpiceLines& part :
       {spice_elements(deck, notes), spice_analysis(transient), spice_save(save)}) {
    lines.insert(lines.end(), part.begin(), part.end());
  }
  lines.emplace_back(".end");
  return lines;
}

void require_plain_spice(const SpiceLines& lines) {
  FIRSTGLOW_REQUIRE(lines.size() >= 2 && !lines.front().empty() && lines.back() == ".end",
                    "a deck has a title and an end");
  for (const char c : lines.front()) {
    FIRSTGLOW_REQUIRE(is_letter_or_digit(c) || c == ' ', "a deck title is letters and digits");
  }
  for (std::size_t i = 1; i < lines.size(); ++i) {
    FIRSTGLOW_REQUIRE(is_plain_card(lines[i]), "a deck line is an element or a known card");
  }
}

}  // namespace firstglow::netlists
