#include "sim/studies/course_programme.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <variant>

#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rampup_tubes.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

/// A turn of the dial is made in so many small ones.
constexpr int kTurnPieces = 6;
/// Lengths that differ by less than this part of a cycle are the same.
constexpr double kSameCycle = 1e-6;

class ProgrammeMaker {
 public:
  ProgrammeMaker(Engine& engine, const core::Rig& rig, const CourseOptions& options)
      : rig_(rig), options_(options), steady_(engine, rig) {}

  CourseProgramme make(const std::vector<double>& ladder_vrms) {
    made_.refusal = refused_ladder(rig_, options_.stage);
    double from_vrms = 0.0;
    for (const double volts : ladder_vrms) {
      if (!made_.refusal.empty() || !add_step(from_vrms, volts)) {
        break;
      }
      from_vrms = volts;
    }
    made_.off_at_s = now_s_;
    if (options_.off_s > 0.0 && !made_.steps.empty()) {
      Situation off;
      off.mains_on = false;
      off.stage = std::min(options_.stage, Stage::tubes_out);
      add_stretch(off, options_.off_s);
    }
    return std::move(made_);
  }

 private:
  [[nodiscard]] Situation at(double dial_vrms) const {
    Situation situation;
    situation.stage = options_.stage;
    situation.lamp = options_.lamp;
    situation.variac_setting = dial_vrms / rig_.mains().nominal.si();
    return situation;
  }

  /// False when the step is refused.
  bool add_step(double from_vrms, double to_vrms) {
    const SteadyRun run = steady_.run(at(to_vrms));
    const ReadingSheet sheet = sheet_of(rig_, run);
    made_.refusal = refused_step(rig_, run.heaters);
    if (!made_.refusal.empty()) {
      return false;
    }
    find_main_nodes(sheet);
    CourseStep step;
    step.dial_vrms = to_vrms;
    step.start_s = now_s_;
    Situation settled = at(to_vrms);
    settled.lit = lit_in(sheet);
    note_heaters(run.heaters, step);
    for (int i = 0; i < kTurnPieces; ++i) {
      const double dial_vrms = from_vrms + (to_vrms - from_vrms) * (i + 0.5) / kTurnPieces;
      Situation turning = settled;
      turning.variac_setting = dial_vrms / rig_.mains().nominal.si();
      add_warming(turning, options_.turn_s / kTurnPieces);
    }
    add_warming(settled, options_.dwell_s - options_.turn_s);
    step.end_s = now_s_;
    made_.steps.push_back(std::move(step));
    made_.last_of_step.push_back(made_.stretches.size() - 1);
    return true;
  }

  void find_main_nodes(const ReadingSheet& sheet) {
    made_.main_nodes.clear();
    for (std::size_t n = 0; n < sheet.nodes.size(); ++n) {
      if (is_supply(rig_, sheet, n)) {
        made_.main_nodes.push_back(static_cast<std::size_t>(sheet.nodes[n]));
      }
    }
  }

  [[nodiscard]] std::set<std::string> lit_in(const ReadingSheet& sheet) const {
    std::set<std::string> lit;
    for (std::size_t k = 0; k < sheet.regulators.size(); ++k) {
      if (sheet.regulator_lit[k]) {
        lit.insert(rig_.parts[static_cast<std::size_t>(sheet.regulators[k])].designator);
      }
    }
    return lit;
  }

  /// From when on each tube conducts; one without a published warm-up at once.
  void note_heaters(const std::vector<HeaterState>& heaters, CourseStep& step) {
    for (const HeaterState& state : heaters) {
      if (state.conduction == Conduction::none) {
        conducts_at_s_.erase(state.part);
        cold_.insert(state.part);
        step.remarks.push_back(state.part + " does not conduct yet: too few volts on its heater");
        continue;
      }
      cold_.erase(state.part);
      if (state.conduction == Conduction::uncertain) {
        step.remarks.push_back(state.part +
                               " may or may not conduct yet; here it does, which gives more volts");
      }
      if (conducts_at_s_.contains(state.part)) {
        continue;
      }
      const core::Part& part = *rig_.find(state.part);
      const core::RectifierHeater* tube = core::rectifier_heater(part);
      // a gas tube's filament comes first, at every start: before this ladder begins
      const bool gas = std::holds_alternative<core::GasRectifier>(part.data);
      const double warm_up_s = tube->warm_up && !gas ? tube->warm_up->si() : 0.0;
      conducts_at_s_[state.part] = now_s_ + warm_up_s;
      if (gas) {
        step.remarks.push_back(state.part +
                               ": its filament has had its full volts for its full time before");
      } else if (tube->warm_up) {
        step.remarks.push_back(fmt::format("{} conducts {:.3g} s after the start of this step",
                                           state.part, warm_up_s));
      }
    }
  }

  /// A stretch cut where a tube begins to conduct.
  void add_warming(Situation situation, double length_s) {
    const double end_s = now_s_ + length_s;
    while (now_s_ < end_s - 0.5 * cycle_s()) {
      double until_s = end_s;
      situation.cold_rectifiers = cold_;
      for (const auto& [part, from_s] : conducts_at_s_) {
        if (from_s > now_s_ + cycle_s()) {
          situation.cold_rectifiers.insert(part);
          until_s = std::min(until_s, from_s);
        }
      }
      add_stretch(situation, until_s - now_s_);
    }
  }

  void add_stretch(const Situation& situation, double length_s) {
    // as the envelope takes it: to the next whole cycle
    const double whole_s = std::max(1.0, std::ceil(length_s / cycle_s() - kSameCycle)) * cycle_s();
    netlists::BuiltDeck built = netlists::build_deck(rig_, situation);
    // what cools down after the plug is out moves no volts
    WarmList warm = situation.mains_on ? warm_resistors(rig_, built, situation) : WarmList{{}, {}};
    made_.stretches.push_back({situation, std::move(built), std::move(warm), whole_s});
    now_s_ += whole_s;
  }

  [[nodiscard]] double cycle_s() const { return 1.0 / rig_.mains().frequency.si(); }

  const core::Rig& rig_;
  const CourseOptions& options_;
  SteadyRunner steady_;
  CourseProgramme made_;
  std::map<std::string, double> conducts_at_s_;
  std::set<std::string> cold_;
  double now_s_ = 0.0;
};

std::shared_ptr<const SlowLaw> law_of(const std::string& name, const netlists::Deck& deck,
                                      const WarmResistor& warm) {
  if (const auto* wire = std::get_if<netlists::TungstenParameters>(&warm.law)) {
    return tungsten_law(name, deck, warm.element, *wire);
  }
  return thermistor_law(name, deck, warm.element,
                        std::get<netlists::ThermistorParameters>(warm.law));
}

}  // namespace

std::vector<EnvelopeStretch> CourseProgramme::envelope() const {
  std::vector<EnvelopeStretch> all;
  for (const CourseStretch& stretch : stretches) {
    EnvelopeStretch one;
    one.length_s = stretch.length_s;
    one.deck = stretch.built.deck;
    for (std::size_t i = 0; i < stretch.warm.resistors.size(); ++i) {
      one.laws.push_back(law_of(stretch.warm.names[i], one.deck, stretch.warm.resistors[i]));
    }
    one.from_share = one.to_share = stretch.situation.mains_on ? 1.0 : 0.0;
    all.push_back(std::move(one));
  }
  return all;
}

CourseProgramme course_programme(Engine& engine, const core::Rig& rig,
                                 const CourseOptions& options) {
  const std::vector<double> ladder =
      options.steps_vrms.empty() ? default_ladder_vrms(rig) : options.steps_vrms;
  return ProgrammeMaker(engine, rig, options).make(ladder);
}

}  // namespace firstglow::sim
