#include "tests/published/gnucap_process.hpp"

#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <sstream>
#include <stdexcept>

namespace firstglow::published {
namespace {

using namespace netlists;

/// Standard output of a shell command; throws when it does not end well.
std::string output_of(const std::string& command) {
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) {
    throw std::runtime_error("cannot start: " + command);
  }
  std::string text;
  char buffer[4096];
  for (std::size_t got = 0; (got = fread(buffer, 1, sizeof buffer, pipe)) > 0;) {
    text.append(buffer, got);
  }
  if (pclose(pipe) != 0) {
    throw std::runtime_error("did not end well: " + command + "\n" + text.substr(0, 2000));
  }
  return text;
}

std::string node_name(DeckNode node) { return node == 0 ? "0" : "n" + std::to_string(node); }

/// One gnucap line (or two) for each kind of element.
struct Line {
  std::ostringstream& text;
  std::size_t index;

  std::ostringstream& begin(const char* letter, DeckNode a, DeckNode b) const {
    text << letter << index << " " << node_name(a) << " " << node_name(b) << " ";
    return text;
  }
  void operator()(const ResistorElement& e) const { begin("R", e.a, e.b) << e.ohm << "\n"; }
  void operator()(const CapacitorElement& e) const {
    begin("C", e.a, e.b) << e.farad << " ic=" << e.start_v << "\n";
  }
  void operator()(const InductorElement& e) const {
    begin("L", e.a, e.b) << e.henry << " ic=" << e.start_a << "\n";
  }
  void operator()(const SineSourceElement& e) const {
    const double turns = std::abs(e.phase_deg) / 180.0;
    if (turns != 0.0 && turns != 1.0) {
      throw std::runtime_error("gnucap's sine has no phase");
    }
    begin("V", e.a, e.b) << "sin( offset=0 amplitude=" << (turns == 0.0 ? e.peak_v : -e.peak_v)
                         << " frequency=" << e.hz << " )\n";
  }
  void operator()(const DcSourceElement& e) const {
    begin("V", e.a, e.b) << "dc " << e.volts << "\n";
  }
  void operator()(const DiodeElement& e) const {
    begin("D", e.anode, e.cathode) << "M" << index << "\n";
    text << ".model M" << index << " D( is=" << e.saturation_a << " n=" << e.emission
         << " rs=" << e.series_ohm << " cjo=" << e.junction_f << " tt=0 )\n";
  }
  void operator()(const netlists::VacuumDiodeElement& e) const {
    begin("G", e.anode, e.cathode)
        << node_name(e.anode) << " " << node_name(e.cathode) << " posy " << e.perveance << ",1.5\n";
  }
  void operator()(const VoltageFollowerElement& e) const {
    begin("E", e.a, e.b) << node_name(e.control) << " 0 " << e.gain << "\n";
  }
  void operator()(const CurrentMirrorElement& e) const {
    begin("F", 0, e.into) << "V" << e.sense << " " << e.gain << "\n";
  }
  void operator()(const netlists::WindingElement& /*e*/) const {
    throw std::logic_error("windings are written by with_ammeters()");
  }
  void operator()(const CurrentSinkElement& e) const {
    begin("I", e.a, e.b) << "dc " << e.amps << "\n";
  }
  // Only a tube with its grid on its cathode and its screen on its plate: a diode of the 3/2-power
  // law, which gnucap has as a transconductance of the volts to a power.
  void operator()(const netlists::SpaceCurrentElement& e) const {
    if (e.split != netlists::kSpaceWhole || e.grid != e.b || e.control != e.a ||
        e.law.offset_v != 0.0) {
      throw std::runtime_error("a tube with a grid has to be written by hand for gnucap");
    }
    begin("G", e.a, e.b) << node_name(e.a) << " " << node_name(e.b) << " posy "
                         << e.law.perveance / std::pow(e.law.mu, 1.5) << ",1.5\n";
  }
  void operator()(const netlists::GridDriveElement& /*e*/) const {
    throw std::runtime_error("a grid drive has to be written by hand for gnucap");
  }
  void operator()(const netlists::SaturatingCoilElement& /*e*/) const {
    throw std::runtime_error("a saturating coil has to be written by hand for gnucap");
  }
  void operator()(const netlists::SinhCoilElement& /*e*/) const {
    throw std::runtime_error("a swinging coil has to be written by hand for gnucap");
  }
  void operator()(const netlists::NtcElement& /*e*/) const {
    throw std::runtime_error("a thermistor has to be written by hand for gnucap");
  }
  void operator()(const ThermalResistorElement& /*e*/) const {
    throw std::runtime_error("a thermal resistor has to be written by hand for gnucap");
  }
};

/// A number as gnucap prints it, e.g. "83.333u" or "-5.1196".
double printed_number(const std::string& word) {
  char* rest = nullptr;
  const double value = std::strtod(word.c_str(), &rest);
  const std::string unit = rest;
  const std::pair<const char*, double> units[] = {
      {"", 1.0},    {"p", 1e-12}, {"n", 1e-9}, {"u", 1e-6},  {"m", 1e-3},
      {"f", 1e-15}, {"K", 1e3},   {"k", 1e3},  {"Meg", 1e6}, {"G", 1e9}};
  for (const auto& [name, factor] : units) {
    if (unit == name && rest != word.c_str()) {
      return value * factor;
    }
  }
  throw std::runtime_error("gnucap printed '" + word + "' where a number should be");
}

void note(double value, bool first, GnucapFigures& figures) {
  figures.mean += value;
  figures.last = value;
  figures.lowest = first ? value : std::min(figures.lowest, value);
  figures.highest = first ? value : std::max(figures.highest, value);
}

/// Figures over the last lines of the table; the last line must be at `stop_s`.
std::vector<GnucapFigures> figures_of_table(const std::string& table, const GnucapSpan& wanted) {
  std::istringstream lines(table);
  std::vector<GnucapFigures> found(wanted.probes.size());
  int count = 0;
  double time_s = -1.0;
  bool in_table = false;
  for (std::string line; std::getline(lines, line);) {
    if (!in_table) {
      in_table = line.starts_with("#Time");
      continue;
    }
    std::istringstream words(line);
    std::string word;
    words >> word;
    time_s = printed_number(word);
    if (time_s <= wanted.stop_s - wanted.mean_over_s + 0.5 * wanted.step_s) {
      continue;
    }
    for (GnucapFigures& figures : found) {
      words >> word;
      note(printed_number(word), count == 0, figures);
    }
    ++count;
  }
  const double lines_expected = wanted.mean_over_s / wanted.step_s;
  if (std::abs(time_s - wanted.stop_s) > wanted.step_s || std::abs(count - lines_expected) > 1.5) {
    throw std::runtime_error("gnucap's table is not whole:\n" + table.substr(0, 2000));
  }
  for (GnucapFigures& figures : found) {
    figures.mean /= count;
  }
  return found;
}

/// Title, lines, what to print and for how long.
std::string whole_text(const std::string& lines, const GnucapSpan& span) {
  std::ostringstream text;
  text.precision(12);
  text << "firstglow cross-check\n" << lines << ".print tran";
  for (const std::string& probe : span.probes) {
    text << " " << probe;
  }
  text << "\n.tran " << span.step_s << " " << span.stop_s << " 0 " << span.step_s << " uic\n.end\n";
  return text.str();
}

}  // namespace

bool gnucap_is_installed() { return std::system("command -v gnucap >/dev/null 2>&1") == 0; }

std::vector<double> gnucap_means(const Deck& compact, const GnucapRun& wanted) {
  const Deck deck = with_ammeters(compact);
  std::ostringstream text;
  text.precision(12);
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    std::visit(Line{text, i}, deck.elements[i].data);
  }
  GnucapSpan span{wanted.stop_s, wanted.step_s, wanted.mean_over_s, {}};
  for (const DeckNode node : wanted.nodes) {
    span.probes.push_back("v(" + node_name(node) + ")");
  }
  std::vector<double> means;
  for (const GnucapFigures& figures : gnucap_figures(text.str(), span)) {
    means.push_back(figures.mean);
  }
  return means;
}

// The netlist is a file in memory that the child inherits: nothing is left in the folder for
// temporary files, which other tests watch.
std::vector<GnucapFigures> gnucap_figures(const std::string& lines, const GnucapSpan& span) {
  const std::string text = whole_text(lines, span);
  const int netlist = memfd_create("gnucap-netlist", 0);
  if (netlist < 0 ||
      write(netlist, text.data(), text.size()) != static_cast<ssize_t>(text.size())) {
    throw std::runtime_error("cannot hold gnucap's netlist in memory");
  }
  const std::shared_ptr<void> closer(nullptr, [netlist](void*) { close(netlist); });
  const std::string path = "/proc/self/fd/" + std::to_string(netlist);
  return figures_of_table(output_of("timeout 40 gnucap -b " + path + " 2>&1"), span);
}

}  // namespace firstglow::published
