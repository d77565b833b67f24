#include "sim/report/sheet/sheet_blanks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

/// AC below this share of the highest AC of the step stands at the chassis to a meter.
constexpr double kStillShare = 0.002;

const StopIf* stop_named(const RampStep& step, const std::string& unit,
                         const std::string& reading = {}) {
  const auto found = std::find_if(step.stop_if.begin(), step.stop_if.end(), [&](const StopIf& s) {
    return s.unit == unit && (reading.empty() || s.reading == reading);
  });
  return found == step.stop_if.end() ? nullptr : &*found;
}

ReadingLimits limits_with(const Band& band, const StopIf* stop) {
  ReadingLimits limits{band.low, band.nominal, band.high, std::nullopt, std::nullopt};
  if (stop != nullptr) {
    limits.stop_below = stop->below;
    limits.stop_above = stop->above;
  }
  return as_printed(limits);
}

void set_limits(Blank& blank, const ReadingLimits& limits) {
  blank.low = limits.low;
  blank.expected = limits.expected;
  blank.high = limits.high;
  blank.stop_below = limits.stop_below;
  blank.stop_above = limits.stop_above;
}

/// The blanks of one step, in the order in which a person goes round with the meter.
class StepFiller {
 public:
  StepFiller(const RampPass& pass, const RampStep& step) : pass_(pass), step_(step) {}

  void fill(StepBlanks& blanks) {
    blanks.words.push_back({id({"remarks"}), "Remarks: sound, smell, colour, heat", 2, ""});
    if (!step_.failure.empty()) {
      return;
    }
    blanks.setting = setting();
    add_mains();
    add_lamp();
    for (const NodeReading& node : step_.nodes) {
      if (node.main_dc || belongs_to_joint(node.node)) {
        add_dc(node);
      }
    }
    if (dc_nodes_.empty()) {
      add_winding_ends();
    }
    for (const MidpointReading& joint : step_.midpoints) {
      add_share(joint);
    }
    blanks.readings = std::move(readings_);
  }

 private:
  [[nodiscard]] std::string id(std::vector<std::string> tail) const {
    std::vector<std::string> parts = pass_id(pass_);
    parts.push_back(plain(step_.variac_vrms));
    parts.insert(parts.end(), tail.begin(), tail.end());
    return blank_id(parts);
  }
  [[nodiscard]] std::string dc_id(const std::string& node) const { return id({node, "dc"}); }

  /// Expected is what the prediction has there: lower than the step when a lamp is in.
  [[nodiscard]] Blank setting() const {
    Blank blank;
    blank.id = id({"variac"});
    blank.label = "Variac output";
    blank.where = "across the variac output, behind the lamp";
    blank.unit = "V AC";
    blank.judged = false;
    for (const NodeReading& node : step_.nodes) {
      if (node.main_dc && std::abs(node.per_mains_volt.nominal) > 0.0) {
        ReadingLimits limits;
        limits.expected = node.dc_v.nominal / node.per_mains_volt.nominal;
        blank.expected = as_printed(limits).expected;
        break;
      }
    }
    return blank;
  }

  void add_mains() {
    Blank amps;
    amps.id = id({"mains-A"});
    amps.label = "Mains current";
    amps.where = "in the line, true rms meter";
    amps.unit = "A";
    const StopIf* stop = stop_named(step_, "A");
    set_limits(amps, limits_with(step_.mains_a, stop));
    amps.stop_why = stop == nullptr ? "" : stop->why;
    readings_.push_back(amps);
    Blank watts;
    watts.id = id({"mains-W"});
    watts.label = "Mains power";
    watts.where = "watt meter in the line";
    watts.unit = "W";
    set_limits(watts, limits_with(step_.mains_w, nullptr));
    readings_.push_back(watts);
  }

  /// The lamp stands in the line: its volts times the mains current are its watts.
  void add_lamp() {
    if (!step_.lamp) {
      return;
    }
    Blank volts;
    volts.id = id({"lamp-V"});
    volts.label = "Lamp volts";
    volts.where = "across the lamp";
    volts.unit = "V AC";
    set_limits(volts, limits_with(step_.lamp->volts, nullptr));
    if (const StopIf* stop = stop_named(step_, "W")) {
      volts.checks.push_back({DerivedCheck::Kind::times, "Lamp watts: volts times mains current",
                              "W", id({"mains-A"}), "", limits_with(step_.lamp->watts, stop),
                              stop->why});
    }
    readings_.push_back(volts);
  }

  void add_dc(const NodeReading& node) {
    Blank dc;
    dc.id = dc_id(node.node);
    dc.label = node.node + " DC";
    dc.where = node.node + " to chassis";
    dc.unit = "V DC";
    ReadingLimits limits{node.dc_v.low, node.dc_v.nominal, node.dc_v.high, std::nullopt,
                         std::nullopt};
    const StopIf* stop = stop_named(step_, "V DC/V", node.node + " per volt of the variac output");
    if (stop != nullptr) {
      // At the step's own volts, but never inside the band, which covers the line as well.
      limits.stop_below = std::min(*stop->below * step_output_v(node), node.dc_v.low);
      limits.stop_above = std::max(*stop->above * step_output_v(node), node.dc_v.high);
      dc.stop_why = stop->why;
      dc.checks.push_back({DerivedCheck::Kind::per, node.node + " per volt of the variac output",
                           "V/V", id({"variac"}), "", limits_with(node.per_mains_volt, stop),
                           stop->why});
    }
    set_limits(dc, as_printed(limits));
    readings_.push_back(dc);
    dc_nodes_.insert(node.node);
    if (node.main_dc) {
      add_ac(node, "AC on " + node.node);
    }
  }

  /// Variac output of the prediction.
  static double step_output_v(const NodeReading& node) {
    return node.dc_v.nominal / node.per_mains_volt.nominal;
  }

  void add_ac(const NodeReading& node, const std::string& label) {
    Blank ac;
    ac.id = id({node.node, "ac"});
    ac.label = label;
    ac.where = node.node + " to chassis, AC range, DC kept out";
    ac.unit = "V AC";
    set_limits(ac, limits_with(node.ac_v, nullptr));
    readings_.push_back(ac);
  }

  void add_winding_ends() {
    double most_v = 0.0;
    for (const NodeReading& node : step_.nodes) {
      most_v = std::max(most_v, node.ac_vrms);
    }
    for (const NodeReading& node : step_.nodes) {
      if (node.ac_vrms > kStillShare * most_v) {
        add_ac(node, node.node + " AC");
      }
    }
  }

  /// The chassis has no blank: it is the zero of every other.
  [[nodiscard]] std::string dc_id_or_chassis(const std::string& node) const {
    return dc_nodes_.contains(node) ? dc_id(node) : std::string();
  }

  [[nodiscard]] bool belongs_to_joint(const std::string& node) const {
    return std::any_of(step_.midpoints.begin(), step_.midpoints.end(),
                       [&node](const MidpointReading& joint) {
                         return joint.node == node || joint.top == node || joint.bottom == node;
                       });
  }

  void add_share(const MidpointReading& joint) {
    const auto found = std::find_if(readings_.begin(), readings_.end(), [&](const Blank& blank) {
      return blank.id == dc_id(joint.node);
    });
    if (found == readings_.end()) {
      return;
    }
    const std::string words = joint.node + " as a share of " + joint.top + " to " + joint.bottom;
    const StopIf* stop = stop_named(step_, "", words);
    DerivedCheck check;
    check.kind = DerivedCheck::Kind::share;
    check.label = words;
    check.other = dc_id_or_chassis(joint.top);
    check.base = dc_id_or_chassis(joint.bottom);
    check.limits = limits_with(joint.fraction, stop);
    check.stop_why = stop == nullptr ? "" : stop->why;
    found->checks.push_back(check);
  }

  const RampPass& pass_;
  const RampStep& step_;
  std::vector<Blank> readings_;
  std::set<std::string> dc_nodes_;
};

std::string stage_word(netlists::Stage stage) {
  std::string word = netlists::stage_key(stage);
  std::replace(word.begin(), word.end(), '_', '-');
  return word;
}

std::string in_pass(const RampPass& pass, std::vector<std::string> tail) {
  std::vector<std::string> parts = pass_id(pass);
  parts.insert(parts.end(), tail.begin(), tail.end());
  return blank_id(parts);
}

}  // namespace

std::vector<std::string> pass_id(const RampPass& pass) {
  return {stage_word(pass.stage), pass.with_lamp ? "lamp" : "no-lamp"};
}

std::vector<StepBlanks> step_blanks(const RampupResult& result) {
  std::vector<StepBlanks> all;
  for (std::size_t p = 0; p < result.passes.size(); ++p) {
    const RampPass& pass = result.passes[p];
    for (std::size_t s = 0; s < pass.steps.size(); ++s) {
      StepBlanks blanks;
      blanks.pass = p;
      blanks.step = s;
      blanks.stage = stage_word(pass.stage);
      blanks.with_lamp = pass.with_lamp;
      blanks.variac_vrms = pass.steps[s].variac_vrms;
      blanks.failure = pass.steps[s].failure;
      blanks.refused = pass.steps[s].refused;
      StepFiller(pass, pass.steps[s]).fill(blanks);
      all.push_back(std::move(blanks));
    }
  }
  return all;
}

std::vector<PassBlanks> pass_blanks(const RampupResult& result) {
  std::vector<PassBlanks> all;
  for (std::size_t p = 0; p < result.passes.size(); ++p) {
    const RampPass& pass = result.passes[p];
    PassBlanks blanks;
    blanks.pass = p;
    blanks.stage = stage_word(pass.stage);
    blanks.with_lamp = pass.with_lamp;
    for (std::size_t g = 0; g < pass.gates.size(); ++g) {
      blanks.gates.push_back({in_pass(pass, {"gate", fmt::format("{}", g + 1)}), pass.gates[g]});
    }
    blanks.end = {{in_pass(pass, {"end", "off"}), "Off, and the plug is out"},
                  {in_pass(pass, {"end", "measured"}), "Waited, then measured every capacitor"},
                  {in_pass(pass, {"end", "hooked"}), "Hook on, and it stays on"}};
    blanks.words = {{in_pass(pass, {"operator"}), "Initials, operator", 1, ""},
                    {in_pass(pass, {"watcher"}), "Initials, watcher", 1, ""},
                    {in_pass(pass, {"time"}), "Time", 1, ""}};
    all.push_back(std::move(blanks));
  }
  return all;
}

}  // namespace firstglow::sim
